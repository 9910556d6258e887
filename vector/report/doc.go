// Package report makes the page that people read: what was found, where, how
// good it is, what to look at, and what it rests on.
//
// The page is one file that needs nothing from outside: pictures, style and
// script are in it. It says first what matters, prints on paper, and can be
// read on a phone, by keyboard and by ear.
package report
