package main

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"quoin/vector"
)

// A length is a flag's value in metres, given in metres, or with ft or usft
// behind the number.
type length float64

func (l *length) String() string { return strconv.FormatFloat(float64(*l), 'g', 6, 64) }

// Type is the placeholder in the help.
func (l *length) Type() string { return "length" }

func (l *length) Set(text string) error {
	number, unit := text, vector.Metre
	for _, u := range []vector.Unit{vector.USSurveyFoot, vector.Foot, vector.Metre} {
		if n, ok := strings.CutSuffix(text, u.Symbol); ok {
			number, unit = strings.TrimSpace(n), u
			break
		}
	}
	value, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsNaN(value) || math.IsInf(value, 0) || value < 0 {
		return fmt.Errorf("%q is no length: write 0.3 (metres), 1ft or 1usft", text)
	}
	*l = length(value * unit.Metres)
	return nil
}
