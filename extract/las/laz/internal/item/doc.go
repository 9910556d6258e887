// Package item holds what the pointwise and the layered point formats of LAZ
// share: the prediction and coding of GPS times, colours and wave packets, the
// streaming median, and the contexts that follow from return numbers.
//
// Each type holds models for one direction, which its constructor is told, and
// has Reset, which begins a chunk.
package item
