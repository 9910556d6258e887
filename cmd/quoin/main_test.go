package main

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"quoin/extract/cloud"
	"quoin/extract/las"
	"quoin/vector/crs"
	"quoin/vector/gdal"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"quoin": main})
}

// TestScripts runs the built program as people do.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("..", "..", "testdata", "script"),
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			"cloud": makeCloud, "patch": patch, "cut": cut, "exit": exitsWith,
		},
		Condition: func(name string) (bool, error) {
			if name != "gdal" {
				return false, fmt.Errorf("unknown condition %q", name)
			}
			return gdal.Built, nil
		},
		RequireExplicitExec: true,
	})
}

// makeCloud writes a small cloud: cloud FILE KIND, the kinds being house (a
// flat roof of 12 m by 8 m on level ground), field (ground only), empty, and
// the same house in feet, in degrees, or in no CRS at all.
func makeCloud(ts *testscript.TestScript, _ bool, args []string) {
	path, kind := ts.MkAbs(args[0]), args[1]
	h := las.Header{
		Version: 4, Format: 6, Scale: [3]float64{0.001, 0.001, 0.001}, Offset: [3]float64{500000, 5500000, 0},
	}
	code := "EPSG:25832"
	at, unit := [2]float64{500000, 5500000}, 1.0
	switch kind {
	case "degrees":
		code = "EPSG:4258"
		at, unit, h.Offset, h.Scale = [2]float64{9, 49}, 1.0/100000, [3]float64{9, 49, 0}, [3]float64{1e-9, 1e-9, 0.001}
	case "nowhere":
		code, h.Format = "", 1
	case "feet":
		code = "EPSG:2994"
		at, unit, h.Offset = [2]float64{1300000, 1000000}, 1/0.3048, [3]float64{1300000, 1000000, 0}
	}
	if code != "" {
		var err error
		h.CRS, err = crs.Parse(code)
		ts.Check(err)
	}
	w, err := las.Create(path, h)
	ts.Check(err)
	if kind != "empty" {
		ts.Check(w.Write(grid(at, unit, kind != "field")))
	}
	ts.Check(w.Close())
}

// grid is ground of 40 m by 40 m at a spacing of 0.25 m, with a house in its
// middle. Points are moved about a little, as no real ones lie on a grid.
func grid(at [2]float64, unit float64, house bool) *cloud.Batch {
	b := &cloud.Batch{}
	for i := range 160 * 160 {
		x, y := float64(i%160)/4+wobble(i), float64(i/160)/4+wobble(i+7)
		z := 100 + wobble(i+3)/8
		if house && x > 14 && x < 26 && y > 16 && y < 24 {
			z += 5
		}
		b.X, b.Y, b.Z = append(b.X, at[0]+x*unit), append(b.Y, at[1]+y*unit), append(b.Z, z*max(unit, 0.1))
	}
	n := len(b.X)
	b.Return, b.Returns = make([]uint8, n), make([]uint8, n)
	for i := range n {
		b.Return[i], b.Returns[i] = 1, 1
	}
	b.Time, b.Intensity = make([]float64, n), make([]uint16, n)
	for i := range n {
		b.Time[i] = 1e8 + float64(i)*1e-5
	}
	b.Class, b.Flags, b.Channel = make([]uint8, n), make([]cloud.Flag, n), make([]uint8, n)
	b.ScanAngle, b.Source = make([]float32, n), make([]uint16, n)
	return b
}

// wobble is a number from -0.1 to 0.1 that looks random.
func wobble(i int) float64 {
	_, f := math.Modf(math.Sin(float64(i)*12.9898) * 43758.5453)
	return 0.1 * f
}

// patch overwrites bytes: patch FILE OFFSET KIND VALUE, the kinds being text,
// u16, u32, u64 and f64.
func patch(ts *testscript.TestScript, _ bool, args []string) {
	offset, err := strconv.Atoi(args[1])
	ts.Check(err)
	var value []byte
	switch args[2] {
	case "text":
		value = []byte(args[3])
	case "f64":
		f, err := strconv.ParseFloat(args[3], 64)
		ts.Check(err)
		value = binary.LittleEndian.AppendUint64(nil, math.Float64bits(f))
	default:
		n, err := strconv.ParseUint(args[3], 0, 64)
		ts.Check(err)
		size := map[string]int{"u16": 2, "u32": 4, "u64": 8}[args[2]]
		value = binary.LittleEndian.AppendUint64(nil, n)[:size]
	}
	f, err := os.OpenFile(ts.MkAbs(args[0]), os.O_WRONLY, 0)
	ts.Check(err)
	_, err = f.WriteAt(value, int64(offset))
	ts.Check(err)
	ts.Check(f.Close())
}

// cut shortens a file: cut FILE SIZE.
func cut(ts *testscript.TestScript, _ bool, args []string) {
	size, err := strconv.ParseInt(args[1], 10, 64)
	ts.Check(err)
	ts.Check(os.Truncate(ts.MkAbs(args[0]), size))
}

// exitsWith runs a command that must end with the given code: exit CODE
// COMMAND...
func exitsWith(ts *testscript.TestScript, _ bool, args []string) {
	code := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		code = exit.ExitCode()
	}
	if want, _ := strconv.Atoi(args[0]); code != want {
		ts.Fatalf("exit code %d, want %d", code, want)
	}
}

func TestLength(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
	}{{"0.3", 0.3}, {"2m", 2}, {"1ft", 0.3048}, {"3937usft", 1200}, {"0", 0}} {
		var l length
		if err := l.Set(c.text); err != nil || math.Abs(float64(l)-c.want) > 1e-12 {
			t.Errorf("%s is %v (%v), want %v", c.text, float64(l), err, c.want)
		}
	}
	for _, text := range []string{"", "x", "-1", "1 mile", "NaN", "Inf"} {
		var l length
		if err := l.Set(text); err == nil {
			t.Errorf("%q was taken for %v", text, l)
		}
	}
}

func TestParseBytes(t *testing.T) {
	for text, want := range map[string]int64{"1": 1, "2K": 2048, "800M": 800 << 20, "8g": 8 << 30} {
		if got, err := parseBytes(text); err != nil || got != want {
			t.Errorf("%s is %d (%v), want %d", text, got, err, want)
		}
	}
	for _, text := range []string{"", "x", "0", "-1G", "99999999999G"} {
		if got, err := parseBytes(text); err == nil {
			t.Errorf("%q was taken for %d", text, got)
		}
	}
}

func TestEveryCommandHelps(t *testing.T) {
	for _, c := range newRoot().Commands() {
		if c.Short == "" || c.Example == "" || c.Long == "" {
			t.Errorf("%s lacks a purpose, an example or a description", c.Name())
		}
		if text := flagGroups(c.LocalFlags()); text != "" && fmt.Sprint(text) == "" {
			t.Errorf("%s: no flags shown", c.Name())
		}
	}
}
