package extract

import (
	"time"

	"quoin/extract/cloud"
	"quoin/vector"
	"quoin/vector/control"
)

// A Record is what run.json holds: everything needed to say later how a
// delivery came to be.
type Record struct {
	Program    string      `json:"program"`
	Version    string      `json:"version"`
	Schema     string      `json:"schema_version"`
	CRS        CRSRecord   `json:"crs"`
	Parameters []Parameter `json:"parameters"`
	Inputs     []Input     `json:"inputs"`
	Points     Points      `json:"points"`
	Attributes []Attribute `json:"attributes"`
	Results    Results     `json:"results"`
	// Classified counts the points of the classified cloud by class.
	Classified map[string]uint64 `json:"classified,omitempty"`
	Checks     any               `json:"checks"`
	// Image is how the footprints lie on the orthophoto; null without one.
	Image    any      `json:"image"`
	Cloud    any      `json:"cloud"`
	Stages   []Stage  `json:"stages"`
	Warnings []string `json:"warnings"`
	// Notes say what the formats of the delivery can't hold.
	Notes []string `json:"notes,omitempty"`

	// For the summary.
	checked *control.Result
	brief   string
	// imageLine is the shift of the image, for the summary.
	imageLine string
	crs       vector.CRS
	folder    string
}

// CRSRecord names the coordinate reference system and its units.
type CRSRecord struct {
	ID         string `json:"id"`
	Name       string `json:"name"`
	Vertical   int    `json:"vertical_code,omitempty"`
	Horizontal string `json:"horizontal_unit"`
	Elevation  string `json:"vertical_unit"`
	// ToWGS84 names the operation that brought coordinates to WGS 84, and
	// its accuracy in metres; empty and null where there was none.
	ToWGS84  string   `json:"to_wgs84,omitempty"`
	Accuracy *float64 `json:"to_wgs84_accuracy_m,omitempty"`
	// Layers says in which CRS the layers are and how they came there; empty
	// when that is the cloud's.
	Layers string `json:"layers,omitempty"`
}

// An Origin says where a parameter's value comes from.
type Origin string

// The origins of a parameter.
const (
	Given    Origin = "given"
	Measured Origin = "measured"
	Default  Origin = "default"
)

// A Parameter is one value that the run went by.
type Parameter struct {
	Name   string `json:"name"`
	Value  any    `json:"value"`
	Unit   string `json:"unit,omitempty"`
	Origin Origin `json:"origin"`
	// Machine says that the value changes nothing in the result: it stays out
	// of the report, whose bytes follow from the input alone.
	Machine bool `json:"-"`
}

// An Input is one file that was read.
type Input struct {
	Path   string `json:"path"`
	Size   int64  `json:"size"`
	SHA256 string `json:"sha256"`
	Points uint64 `json:"points"`
}

// Points counts the points by what became of them.
type Points struct {
	cloud.Census
	Ground int `json:"ground"`
	Roof   int `json:"roof"`
}

// Results counts what was delivered.
type Results struct {
	Footprints int            `json:"footprints"`
	Corners    int            `json:"corners"`
	Adjusted   int            `json:"adjusted_corners"`
	Review     map[string]int `json:"review"`
	HeldBack   map[string]int `json:"held_back"`
}

// A Stage is one step of the run with what it cost.
type Stage struct {
	Name    string  `json:"name"`
	Seconds float64 `json:"seconds"`
	// PeakMemory is that of the process when the stage ended, in bytes.
	PeakMemory int64 `json:"peak_memory"`
}

func (r *Record) warn(o Options, text string) {
	r.Warnings = append(r.Warnings, text)
	o.Log.Warn(text)
}

// timed runs a stage and records what it cost.
func (r *Record) timed(o Options, name string, stage func() error) error {
	o.Log.Debug("stage begins", "stage", name)
	start := time.Now()
	err := stage()
	o.Progress.Done()
	r.Stages = append(r.Stages, Stage{name, time.Since(start).Seconds(), peakMemory()})
	return err
}

func recordCRS(c vector.CRS) CRSRecord {
	return CRSRecord{
		ID: c.String(), Name: c.Name, Vertical: c.VerticalCode,
		Horizontal: c.Horizontal.Name, Elevation: c.Vertical.Name,
	}
}
