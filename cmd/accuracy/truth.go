package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/accuracy"
)

// leastArea is the area, in square metres, below which buildings are not
// asked for.
const leastArea = 6

// trueProperties are those of a building of the simulator's truth.
type trueProperties struct {
	ID         string      `json:"id"`
	Kind       string      `json:"kind"`
	Roof       string      `json:"roof_type"`
	Area       float64     `json:"area_m2"`
	Ground     float64     `json:"ground_mean"`
	Eave       float64     `json:"eave_elevation"`
	Ridge      float64     `json:"ridge_elevation"`
	GroundLow  float64     `json:"ground_min"`
	GroundHigh float64     `json:"ground_max"`
	Highest    float64     `json:"highest_elevation"`
	Neighbours []string    `json:"party_wall_with"`
	Visible    [][]float64 `json:"sides_visible"`
	Elevations [][]float64 `json:"vertex_elevations"`
	AtEdge     bool        `json:"at_block_edge"`
	Walls      orb.Polygon `json:"wall_line"`
	Arcs       []struct {
		Centre orb.Point `json:"centre"`
		Radius float64   `json:"radius"`
	} `json:"arcs"`
}

// readTruth reads the buildings of a block in metres.
func readTruth(path string) ([]accuracy.Building, error) {
	var all []accuracy.Building
	err := features(path, func(polygon orb.Polygon, properties json.RawMessage) error {
		var t trueProperties
		if err := json.Unmarshal(properties, &t); err != nil {
			return err
		}
		b := accuracy.Building{
			ID: t.ID, Kind: t.Kind + ", " + t.Roof, Polygon: polygon, Elevations: t.Elevations, Visible: t.Visible,
			Ground: t.Ground, Eave: t.Eave, Ridge: t.Ridge, LowestGround: t.GroundLow, HighestGround: t.GroundHigh,
			HighestPoint: t.Highest, Roof: vector.RoofType(t.Roof), Neighbours: t.Neighbours,
			Walls:   t.Walls,
			Ignored: t.AtEdge || t.Area < leastArea,
		}
		for _, a := range t.Arcs {
			b.Arcs = append(b.Arcs, accuracy.Arc{Centre: a.Centre, Radius: a.Radius})
		}
		all = append(all, b)
		return nil
	})
	return all, err
}

// A thing is something that is no building.
type thing struct {
	Kind    string
	Polygon orb.Polygon
}

func readThings(path string) ([]thing, error) {
	var all []thing
	err := features(path, func(polygon orb.Polygon, properties json.RawMessage) error {
		var t struct {
			Kind string `json:"kind"`
		}
		err := json.Unmarshal(properties, &t)
		all = append(all, thing{t.Kind, polygon})
		return err
	})
	return all, err
}

// deliveredProperties are those of a footprint.
type deliveredProperties struct {
	ID      string   `json:"building_id"`
	Ground  *float64 `json:"ground_elevation"`
	Lowest  *float64 `json:"lowest_ground"`
	Highest *float64 `json:"highest_ground"`
	Top     *float64 `json:"highest_point"`
	Roof    string   `json:"roof_type"`
	Eave    *float64 `json:"eave_height"`
	Ridge   *float64 `json:"ridge_height"`
	Quality *float64 `json:"quality"`
	Points  int      `json:"point_count"`
	EdgeRMS *float64 `json:"edge_rms"`
	Sigma   *float64 `json:"area_sigma_m2"`
	Review  string   `json:"review"`
}

// features calls take for every feature of a GeoJSON file.
func features(path string, take func(orb.Polygon, json.RawMessage) error) error {
	b, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	var file struct {
		Features []struct {
			Geometry struct {
				Coordinates json.RawMessage `json:"coordinates"`
			} `json:"geometry"`
			Properties json.RawMessage `json:"properties"`
		} `json:"features"`
	}
	if err := json.Unmarshal(b, &file); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	for i, f := range file.Features {
		var polygon orb.Polygon
		if err := json.Unmarshal(f.Geometry.Coordinates, &polygon); err != nil {
			return fmt.Errorf("%s: feature %d is no polygon: %w", path, i, err)
		}
		if err := take(polygon, f.Properties); err != nil {
			return fmt.Errorf("%s: feature %d: %w", path, i, err)
		}
	}
	return nil
}

// known returns the value of a number that may be null.
func known(v *float64) float64 {
	if v == nil {
		return math.NaN()
	}
	return *v
}
