package control

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// split cuts a line at the separator. A field may stand in double quotes, with
// a quote in it doubled (RFC 4180), but not go on in the next line; a quote
// inside an unquoted field, as in 6" gutter, stands for itself.
func split(text string, separator rune) ([]string, error) {
	var fields []string
	for {
		text = strings.TrimLeft(text, " ")
		if !strings.HasPrefix(text, `"`) {
			field, rest, more := strings.Cut(text, string(separator))
			fields = append(fields, strings.TrimSpace(field))
			if !more {
				return fields, nil
			}
			text = rest
			continue
		}
		field, rest, ok := quoted(text[1:])
		rest = strings.TrimLeft(rest, " ")
		if !ok || rest != "" && !strings.HasPrefix(rest, string(separator)) {
			return nil, errors.New("a quoted field does not end before its separator")
		}
		fields = append(fields, strings.TrimSpace(field))
		if rest == "" {
			return fields, nil
		}
		text = rest[len(string(separator)):]
	}
}

// quoted returns what stands before the closing quote, and what after it.
func quoted(text string) (field, rest string, ok bool) {
	var b strings.Builder
	for {
		before, after, found := strings.Cut(text, `"`)
		b.WriteString(before)
		if !found {
			return "", "", false
		}
		if !strings.HasPrefix(after, `"`) {
			return b.String(), after, true
		}
		b.WriteByte('"')
		text = after[1:]
	}
}

// decimal reads a decimal number. What strconv takes beyond that, as hexadecimal
// digits and infinity, is in no survey.
func decimal(s string, separator rune) (float64, error) {
	if s == "" {
		return 0, errors.New("is missing")
	}
	plain := s
	if separator != ',' && strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		plain = strings.Replace(s, ",", ".", 1)
	}
	if strings.Trim(plain, "0123456789+-.eE") != "" {
		return 0, fmt.Errorf("%q is not a number", clipped(s))
	}
	v, err := strconv.ParseFloat(plain, 64)
	if err != nil {
		return 0, fmt.Errorf("%q is not a number", clipped(s))
	}
	return v, nil
}

// clipped keeps a message to one short line whatever the file holds.
func clipped(s string) string {
	const most = 60
	runes := []rune(s)
	if len(runes) <= most {
		return s
	}
	return string(runes[:most]) + "…"
}
