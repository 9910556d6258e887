package control_test

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/paulmach/orb"

	"quoin/vector/control"
)

// block is where the points of the tests lie.
var block = orb.Bound{Min: orb.Point{500000, 5800000}, Max: orb.Point{500500, 5800300}}

func TestRead(t *testing.T) {
	nan := math.NaN()
	a := control.Point{ID: "1", East: 500123.456, North: 5800012.34, Elevation: 31.2, Description: "roof NE", Line: 1}
	line := func(p control.Point, n int) control.Point {
		p.Line = n
		return p
	}
	bare := a
	bare.Elevation, bare.Description = nan, ""
	for _, c := range []struct {
		name, in string
		want     control.Point
	}{
		{"northing first", "1,5800012.34,500123.456,31.2,roof NE\n", a},
		{"easting first", "1,500123.456,5800012.34,31.2,roof NE\n", a},
		{"no line end", "1,5800012.34,500123.456,31.2,roof NE", a},
		{"blanks and CRLF", " 1 , 5800012.34 , 500123.456 , 31.2 , roof NE \r\n", a},
		{"semicolon, decimal comma", "1;5800012,34;500123,456;31,2;roof NE", a},
		{"tab", "1\t5800012.34\t500123.456\t31.2\troof NE", a},
		{"tab, decimal comma", "1\t5800012,34\t500123,456\t31,2\troof NE", a},
		{"header", "point,northing,easting,elevation,description\n1,5800012.34,500123.456,31.2,roof NE", line(a, 2)},
		{"header, other order", "E;N;Z;Desc;Pt No.\n500123,456;5800012,34;31,2;roof NE;1", line(a, 2)},
		{"header with units, x and y", "ID,X (m),Y (m),Height [m],Code\n1,500123.456,5800012.34,31.2,roof NE", line(a, 2)},
		{"header, more columns", "when,point,easting,northing,elevation,pdop,description\nnoon,1,500123.456,5800012.34,31.2,1.4,roof NE", line(a, 2)},
		{"comments, empty lines, mark", "\xEF\xBB\xBF# survey of May\n\n// by total station\n1,5800012.34,500123.456,31.2,roof NE", line(a, 4)},
		{"no elevation", "1,5800012.34,500123.456", bare},
		{"empty elevation", "1,5800012.34,500123.456,,", bare},
		{"quoted", `"1",5800012.34,500123.456,31.2,"roof NE"`, a},
		{"exponent", "1,5.80001234e6,500123.456,31.2,roof NE", a},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := control.Read(strings.NewReader(c.in), block)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff([]control.Point{c.want}, got, cmpopts.EquateNaNs()); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}

func TestReadDescriptions(t *testing.T) {
	for in, want := range map[string]string{
		`roof, corner, NE`:        "roof, corner, NE",
		`"6"" gutter, NE"`:        `6" gutter, NE`,
		`6" gutter`:               `6" gutter`,
		"d\xE9bord":               "débord",
		"Traufe über dem Eingang": "Traufe über dem Eingang",
	} {
		got, err := control.Read(strings.NewReader("1,5800012.34,500123.456,31.2,"+in), block)
		if err != nil {
			t.Errorf("%q: %v", in, err)
			continue
		}
		// Without a header the last column keeps its commas; blanks after
		// them go with the splitting.
		if g := strings.ReplaceAll(got[0].Description, ",", ", "); strings.ReplaceAll(g, "  ", " ") != want {
			t.Errorf("%q: got %q, want %q", in, got[0].Description, want)
		}
	}
}

func TestReadTakesAPointCalledLikeAColumn(t *testing.T) {
	got, err := control.Read(strings.NewReader("N,5800012.34,500123.456\nE,5800013.34,500124.456\n"), block)
	if err != nil || len(got) != 2 || got[0].ID != "N" {
		t.Errorf("got %v, %v", got, err)
	}
}

func TestReadNamesALineWithoutNameColumn(t *testing.T) {
	got, err := control.Read(strings.NewReader("northing,easting\n5800012.34,500123.456\n"), block)
	if err != nil || got[0].ID != "line 2" {
		t.Errorf("got %v, %v", got, err)
	}
}

func TestReadErrors(t *testing.T) {
	square := orb.Bound{Min: orb.Point{0, 0}, Max: orb.Point{100, 100}}
	for _, c := range []struct {
		name, in, want string
		block          orb.Bound
	}{
		{"empty", "", "empty", block},
		{"comments only", "# nothing\n", "empty", block},
		{"header only", "point,northing,easting\n", "only the line", block},
		{"prose", "Dear client, here are the points", "line 1", block},
		{"not a number", "1,5800012.34,500123.456,31.2\n2,5800012.34,5OO123.456,31.2", `line 2: point "2": easting "5OO123.456" is not a number`, block},
		{"missing easting", "1,5800012.34,500123.456\n2,5800012.34", `line 2: point "2": easting is missing`, block},
		{"bad elevation", "1,5800012.34,500123.456,high", `elevation "high"`, block},
		{"infinite", "1,5800012.34,500123.456,Inf", `elevation "Inf"`, block},
		{"hexadecimal", "1,5800012.34,500123.456,0x1p4", `elevation "0x1p4"`, block},
		{"out of range", "1,5800012.34,500123.456,1e999", `elevation "1e999"`, block},
		{"no name", ",5800012.34,500123.456", "line 1: the point has no name", block},
		{"twice", "1,5800012.34,500123.456\n1,5800012.35,500123.456", `line 2: point "1" is already on line 1`, block},
		{"no northing", "point,easting,elevation\n1,500123,31", "no column is named northing", block},
		{"swapped header", "point,northing,easting\n1,500123.456,5800012.34", "wrong way round", block},
		{"both orders", "1,10,20,31.2", "both orders", square},
		{"neither order", "1,1500123,800012", "no point lies in the block", block},
		{"UTF-16", "\xFF\xFE1\x00,\x00", "UTF-16", block},
		{"binary", "1,2\x00,3", "line 1: not a text file", block},
		{"endless line", strings.Repeat("1,", 1<<17), "line 1: longer", block},
		{"quote left open", "0,5800012.34,500123.456\n1,5800012.34,500123.456,31.2,\"roof\n", "a quoted field does not end", block},
	} {
		t.Run(c.name, func(t *testing.T) {
			points, err := control.Read(strings.NewReader(c.in), c.block)
			if err == nil {
				t.Fatalf("read %v", points)
			}
			if !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("got %q, want it to say %q", err, c.want)
			}
		})
	}
}

func TestReadFileNamesTheFile(t *testing.T) {
	_, err := control.ReadFile("testdata/absent.csv", block)
	if err == nil || !strings.Contains(err.Error(), "testdata/absent.csv") {
		t.Errorf("got %v", err)
	}
}

func FuzzRead(f *testing.F) {
	for _, seed := range []string{
		"1,5800012.34,500123.456,31.2,roof NE\n", "1;5800012,34;500123,456;31,2;roof NE",
		"E;N;Z;Desc;Pt No.\n500123,456;5800012,34;31,2;roof NE;1", "\xEF\xBB\xBF# a\n\n1\t2\t3", "\"1\"\"\",2,3,\"\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, in []byte) {
		points, err := control.Read(strings.NewReader(string(in)), block)
		if err != nil {
			return
		}
		names := map[string]bool{}
		for _, p := range points {
			if math.IsNaN(p.East+p.North) || math.IsInf(p.East+p.North, 0) {
				t.Fatalf("point %q at %v, %v", p.ID, p.East, p.North)
			}
			if p.ID == "" || names[p.ID] || p.Line < 1 {
				t.Fatalf("point %q on line %d", p.ID, p.Line)
			}
			names[p.ID] = true
		}
		if len(points) == 0 {
			t.Fatal("no points and no error")
		}
	})
}
