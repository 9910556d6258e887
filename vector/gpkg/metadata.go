package gpkg

import (
	"encoding/xml"
	"fmt"

	"quoin/vector"
	"quoin/vector/layer"
)

const dublinCore = "http://purl.org/dc/terms/"

// record is the metadata of the whole file in Dublin Core terms (DCMI Metadata
// Terms), which have an element for the provenance of data and need no schema
// to be read.
type record struct {
	XMLName    xml.Name `xml:"metadata"`
	Namespace  string   `xml:"xmlns:dcterms,attr"`
	Title      string   `xml:"dcterms:title"`
	Modified   string   `xml:"dcterms:modified"`
	Provenance string   `xml:"dcterms:provenance"`
	Conforms   string   `xml:"dcterms:conformsTo"`
	Spatial    string   `xml:"dcterms:spatial"`
}

// metadata writes the lineage of the delivery, and refers to it from the whole
// file.
func (w *writer) metadata(o Options) error {
	title := o.Title
	if title == "" {
		title = "Building footprints with corner standard errors"
	}
	text, err := xml.MarshalIndent(record{
		Namespace:  dublinCore,
		Title:      validText(title),
		Modified:   w.timestamp(),
		Provenance: validText(w.set.Lineage),
		Conforms:   "quoin layers " + vector.SchemaVersion,
		Spatial:    "Coordinates in " + w.set.CRS.String(),
	}, "", " ")
	if err != nil {
		return fmt.Errorf("metadata: %w", err)
	}
	if err := insert(w.ctx, w.db, "gpkg_metadata", []any{1, "dataset", dublinCore, "text/xml", xml.Header + string(text) + "\n"}); err != nil {
		return fmt.Errorf("metadata: %w", err)
	}
	err = insert(w.ctx, w.db, "gpkg_metadata_reference", []any{"geopackage", nil, nil, nil, w.timestamp(), 1, nil})
	if err != nil {
		return fmt.Errorf("metadata: %w", err)
	}
	return w.furtherMetadata()
}

// furtherMetadata writes the records that the delivery brings along.
func (w *writer) furtherMetadata() error {
	for i, m := range w.set.Metadata {
		id := i + 2 // after the lineage
		if err := insert(w.ctx, w.db, "gpkg_metadata", []any{id, "dataset", m.Standard, m.MIME, validText(m.Text)}); err != nil {
			return fmt.Errorf("metadata: %w", err)
		}
		if err := insert(w.ctx, w.db, "gpkg_metadata_reference", []any{"geopackage", nil, nil, nil, w.timestamp(), id, nil}); err != nil {
			return fmt.Errorf("metadata: %w", err)
		}
	}
	return nil
}

// columns describes each column of the layer for the schema extension. The
// tables have no place for a unit, so it ends the description.
func (w *writer) columns(l layer.Layer) error {
	described := []layer.Column{{Name: idColumn, Title: "Feature number", Description: "Number of the feature in this file, from 1."}}
	if l.Geometry != layer.None {
		described = append(described, layer.Column{Name: geometryColumn, Title: "Geometry", Description: "Position, x east and y north.", Quantity: layer.GridLength})
	}
	described = append(described, l.Columns...)
	for _, c := range described {
		description := c.Description
		if unit := c.Quantity.Unit(w.set.CRS); unit != "" {
			description += " Unit: " + unit + "."
		}
		var constraint any
		if c.Values != nil {
			name := l.Name + "_" + c.Name
			constraint = name
			for _, v := range c.Values {
				if err := insert(w.ctx, w.db, "gpkg_data_column_constraints", []any{name, "enum", v.Name, nil, nil, nil, nil, v.Meaning}); err != nil {
					return err
				}
			}
		}
		if err := insert(w.ctx, w.db, "gpkg_data_columns", []any{l.Name, c.Name, nil, c.Title, description, nil, constraint}); err != nil {
			return err
		}
	}
	return nil
}
