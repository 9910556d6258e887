package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"quoin/vector"
)

// A Format says how numbers are written. The zero value writes 1234.5 and
// lengths in the units of the CRS. Words are English whatever it is, and the
// accuracy statement stands as in its file.
type Format struct {
	Locale Locale
	// Unit is that of lengths, heights and areas; unknown for those of the CRS
	// (areas: square metres).
	Unit vector.Unit
}

// A Locale names a way of writing numbers by a language: its decimal sign and
// what separates thousands.
type Locale string

// The locales. Plain has a point and separates nothing.
const (
	Plain   Locale = ""
	English Locale = "en" // 1,234.5
	German  Locale = "de" // 1.234,5
	French  Locale = "fr" // 1 234,5, with a narrow space that does not break
)

// ParseLocale returns the locale of a language tag, such as de or de-AT: what
// comes after the language makes no difference.
func ParseLocale(tag string) (Locale, error) {
	language, _, _ := strings.Cut(strings.ReplaceAll(strings.ToLower(tag), "_", "-"), "-")
	switch l := Locale(language); l {
	case Plain, English, German, French:
		return l, nil
	}
	return Plain, fmt.Errorf("%q is not known: write en, de or fr", tag)
}

// signs returns the decimal sign and the separator of thousands.
func (l Locale) signs() (decimal, thousands string) {
	switch l {
	case English:
		return ".", ","
	case German:
		return ",", "."
	case French:
		return ",", "\u202f"
	}
	return ".", ""
}

// Number writes a number with so many decimals; a dash for what is none.
func (f Format) Number(digits int, v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return "–"
	}
	whole, fraction, _ := strings.Cut(strconv.FormatFloat(math.Abs(v), 'f', digits, 64), ".")
	decimal, thousands := f.Locale.signs()
	var b strings.Builder
	if v < 0 && strings.Trim(whole+fraction, "0") != "" {
		b.WriteString("−")
	}
	for i, r := range whole {
		if i > 0 && (len(whole)-i)%3 == 0 {
			b.WriteString(thousands)
		}
		b.WriteRune(r)
	}
	if fraction != "" {
		b.WriteString(decimal + fraction)
	}
	return b.String()
}

// Metres writes a length in metres in the unit of the report, which is metres
// where none was asked for.
func (f Format) Metres(digits int, v float64) string {
	return f.length(digits, v, vector.Metre)
}

// length writes a length that is in some unit.
func (f Format) length(digits int, v float64, from vector.Unit) string {
	to := f.in(from)
	return strings.TrimSpace(f.Number(digits, f.convert(v, from)) + " " + to.Symbol)
}

// in returns the unit that lengths of another one are written in.
func (f Format) in(from vector.Unit) vector.Unit {
	if f.Unit.Known() && from.Known() {
		return f.Unit
	}
	return from
}

func (f Format) convert(v float64, from vector.Unit) float64 {
	if to := f.in(from); to.Known() {
		return v * (from.Metres / to.Metres)
	}
	return v
}

// area writes an area in square metres.
func (f Format) area(digits int, v float64) string {
	to := f.in(vector.Metre)
	return f.Number(digits, v/(to.Metres*to.Metres))
}
