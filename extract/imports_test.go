package extract_test

import (
	"encoding/json"
	"errors"
	"io"
	"os/exec"
	"strings"
	"testing"
)

// A pkg is what the go tool says of a package.
type pkg struct {
	ImportPath string
	Imports    []string
	Deps       []string
}

func packages(t *testing.T) []pkg {
	t.Helper()
	out, err := exec.Command("go", "list", "-deps=false", "-json=ImportPath,Imports,Deps", "quoin/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	var list []pkg
	for d := json.NewDecoder(strings.NewReader(string(out))); ; {
		var p pkg
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return list
		} else if err != nil {
			t.Fatal(err)
		}
		list = append(list, p)
	}
}

// within reports whether a package is the named one or below it.
func within(path string, roots ...string) bool {
	for _, r := range roots {
		if path == r || strings.HasPrefix(path, r+"/") {
			return true
		}
	}
	return false
}

// stage returns the first folder of a package below extract, or "".
func stage(path string) string {
	rest, ok := strings.CutPrefix(path, "quoin/extract/")
	if !ok {
		return ""
	}
	name, _, _ := strings.Cut(rest, "/")
	return name
}

// TestImportsGoOneWay holds the house rules: cmd → extract → stages →
// extract/cloud → vector; stages meet only in extract; nothing that extracts
// sees the simulator or the scorer.
func TestImportsGoOneWay(t *testing.T) {
	for _, p := range packages(t) {
		for _, dep := range p.Deps {
			if rule := broken(p.ImportPath, dep); rule != "" {
				t.Errorf("%s depends on %s: %s", p.ImportPath, dep, rule)
			}
		}
		for _, dep := range p.Imports {
			if !mayMeasure(p.ImportPath, dep) {
				t.Errorf("%s imports %s: the scoreboard knows of extraction what its files say; only cmd/accuracy/clean may call the fit", p.ImportPath, dep)
			}
		}
	}
}

func broken(path, dep string) string {
	from, to := stage(path), stage(dep)
	switch {
	case within(path, "quoin/vector") && within(dep, "quoin/extract", "quoin/cmd"):
		return "vector imports nothing of extract"
	case within(path, "quoin/extract") && within(dep, "quoin/cmd"):
		return "only the go tool starts commands"
	case within(path, "quoin/extract") && from != "scene" && within(dep, "quoin/extract/scene", "quoin/vector/accuracy"):
		return "extraction may not see the simulator or the scorer"
	case from == "cloud" && to != "" && to != "cloud":
		return "the cloud knows no stage and no file format"
	case from == "scene" && to != "" && to != "scene" && to != "las" && to != "cloud":
		return "the simulator shares only the writer with extraction"
	case from == "las" && to != "" && to != "las" && to != "cloud":
		return "file formats know no stage"
	case isStage(from) && (to == "las" || isStage(to) && to != from || dep == "quoin/extract"):
		return "stages meet only in extract"
	}
	return ""
}

// mayMeasure holds that the scoreboard judges the built program by its files:
// of extraction it may import the simulator and the reader of clouds, and the
// cells of clean labels the fit of outlines.
func mayMeasure(path, dep string) bool {
	if !within(path, "quoin/cmd/accuracy") || !within(dep, "quoin/extract") {
		return true
	}
	if path == "quoin/cmd/accuracy/clean" {
		return dep == "quoin/extract/outline"
	}
	return within(dep, "quoin/extract/scene", "quoin/extract/las", "quoin/extract/cloud")
}

func isStage(name string) bool {
	switch name {
	case "swath", "ground", "roof", "outline", "form", "wall", "classify", "nadir":
		return true
	}
	return false
}

// TestRulesCanBreak makes sure that the rules forbid something.
func TestRulesCanBreak(t *testing.T) {
	for _, pair := range [][2]string{
		{"quoin/vector/gpkg", "quoin/extract/cloud"},
		{"quoin/extract/roof", "quoin/extract/ground"},
		{"quoin/extract/roof", "quoin/extract/las"},
		{"quoin/extract", "quoin/extract/scene"},
		{"quoin/extract/cloud", "quoin/extract/las"},
		{"quoin/extract/scene", "quoin/extract/roof"},
		{"quoin/extract/outline", "quoin/extract"},
	} {
		if broken(pair[0], pair[1]) == "" {
			t.Errorf("%s may depend on %s", pair[0], pair[1])
		}
	}
	for _, pair := range [][2]string{{"quoin/cmd/accuracy", "quoin/extract/outline"}, {"quoin/cmd/accuracy/clean", "quoin/extract"}} {
		if mayMeasure(pair[0], pair[1]) {
			t.Errorf("%s may import %s", pair[0], pair[1])
		}
	}
	if rule := broken("quoin/extract", "quoin/extract/roof"); rule != "" {
		t.Errorf("the pipeline may not use a stage: %s", rule)
	}
}

// TestFileFormatsBuildWithoutC builds the readers and writers of clouds as
// users of the codec do, without a C compiler.
func TestFileFormatsBuildWithoutC(t *testing.T) {
	cmd := exec.Command("go", "build", "quoin/extract/las/...")
	cmd.Env = append(cmd.Environ(), "CGO_ENABLED=0")
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
