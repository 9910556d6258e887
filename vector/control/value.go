package control

import (
	"encoding/json"
	"math"
	"strconv"
)

// A Value is a number that may be unknown: NaN in Go, null in JSON.
type Value float64

var (
	_ json.Marshaler   = Value(0)
	_ json.Unmarshaler = (*Value)(nil)
)

// MarshalJSON returns null for what is not a finite number.
func (v Value) MarshalJSON() ([]byte, error) {
	if f := float64(v); math.IsNaN(f) || math.IsInf(f, 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, float64(v), 'g', -1, 64), nil
}

// UnmarshalJSON takes null for NaN.
func (v *Value) UnmarshalJSON(b []byte) error {
	if string(b) == "null" {
		*v = Value(math.NaN())
		return nil
	}
	return json.Unmarshal(b, (*float64)(v))
}
