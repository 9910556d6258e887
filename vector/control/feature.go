package control

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
)

// A Feature is what a surveyed point is a point of.
type Feature string

// The features. Roof corners are compared with the corners of roof edges,
// ground points with the surface of the ground, and wall corners with nothing
// as long as a layer has roof edges only: an overhang is no error.
const (
	NoFeature       Feature = "" // not said; taken for a roof corner
	RoofCorner      Feature = "roof corner"
	WallCorner      Feature = "wall corner"
	Ground          Feature = "ground"           // open ground, not vegetated
	VegetatedGround Feature = "vegetated ground" // below grass, crops or trees
	// CheckOnly is a roof corner that is withheld whatever its role says.
	CheckOnly Feature = "check only"
)

// Corner reports whether the point is to be compared with roof corners.
func (f Feature) Corner() bool { return f == NoFeature || f == RoofCorner || f == CheckOnly }

// OnGround reports whether the point tests the surface of the ground.
func (f Feature) OnGround() bool { return f == Ground || f == VegetatedGround }

// A Code is a word of descriptions and the feature that it stands for.
type Code struct {
	Word    string
	Feature Feature
}

// Codes decide from a description what a point is. Of several codes that
// occur in one description, the first of the list holds.
type Codes []Code

// DefaultCodes returns the words of common practice (no source): what names
// the roof comes before what names the wall and the ground, so that "roof
// corner above ground floor" is a roof corner.
func DefaultCodes() Codes {
	var codes Codes
	for _, g := range []struct {
		feature Feature
		words   string
	}{
		{CheckOnly, "checkonly"},
		{RoofCorner, "roof eave eaves gutter drip dripedge fascia verge rc"},
		{WallCorner, "wall brick facade wc"},
		{VegetatedGround, "vva grass meadow crops shrub"},
		{Ground, "ground gnd nva pavement asphalt concrete kerb curb"},
	} {
		for _, w := range strings.Fields(g.words) {
			codes = append(codes, Code{w, g.feature})
		}
	}
	return codes
}

// Feature returns what a description stands for: the feature of the first code
// that occurs in it as a whole word, in any case; NoFeature for none.
func (c Codes) Feature(description string) Feature {
	words := map[string]bool{}
	for _, w := range wordsOf(description) {
		words[w] = true
	}
	for _, code := range c {
		if words[code.Word] {
			return code.Feature
		}
	}
	return NoFeature
}

// wordsOf returns the words of a description in lower case.
func wordsOf(description string) []string {
	return strings.FieldsFunc(strings.ToLower(description), func(r rune) bool {
		return strings.ContainsRune(" \t,;:/()[]", r)
	})
}

// ReadCodes returns the code list of a file: a code and a feature on each line,
// separated by a comma, semicolon or tab, as "RC,roof corner". Empty lines and
// lines that begin with # are passed over. The list takes the place of the
// default one.
func ReadCodes(path string) (Codes, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("control: codes: %w", err)
	}
	defer f.Close()
	codes, err := readCodes(f)
	if err != nil {
		return nil, fmt.Errorf("control: codes of %s: %w", path, err)
	}
	return codes, nil
}

func readCodes(r io.Reader) (Codes, error) {
	var codes Codes
	in := bufio.NewScanner(r)
	for number := 1; in.Scan(); number++ {
		text := strings.TrimSpace(strings.TrimPrefix(in.Text(), "\uFEFF"))
		if text == "" || strings.HasPrefix(text, "#") {
			continue
		}
		at := strings.IndexAny(text, ",;\t")
		if at < 0 {
			return nil, fmt.Errorf("line %d: %q is no code with a feature: write RC,roof corner", number, clipped(text))
		}
		word, name := strings.ToLower(strings.TrimSpace(text[:at])), Feature(strings.ToLower(strings.TrimSpace(text[at+1:])))
		switch {
		case len(wordsOf(word)) != 1:
			return nil, fmt.Errorf("line %d: a code is one word, %q is not", number, clipped(word))
		case !name.known():
			return nil, fmt.Errorf("line %d: feature %q is not known: write roof corner, wall corner, ground, vegetated ground or check only", number, clipped(string(name)))
		}
		codes = append(codes, Code{word, name})
	}
	if in.Err() != nil {
		return nil, in.Err()
	}
	if len(codes) == 0 {
		return nil, errors.New("the list is empty")
	}
	return codes, nil
}

func (f Feature) known() bool {
	switch f {
	case RoofCorner, WallCorner, Ground, VegetatedGround, CheckOnly:
		return true
	}
	return false
}
