package las

import (
	"errors"
	"fmt"
	"math"

	"quoin/extract/las/georef"
	"quoin/vector"
)

// projection is the user id of the records that hold a CRS.
const projection = "LASF_Projection"

// readCRS takes the CRS from the records. Where there are both kinds, the WKT
// bit decides; where there is one, it is taken whatever the bit says. What
// cannot be read leaves the CRS unknown, with a warning: points can be worked
// on without one.
func (p *parser) readCRS() {
	h := &p.header
	wkt, keys := h.definition(), h.keys()
	bit := h.Encoding&WKT != 0
	switch {
	case wkt != "" && keys.Directory != nil && !bit:
		p.warn("the CRS is given both as GeoTIFF keys and as well-known text: the keys are taken")
		wkt = ""
	case wkt != "" && keys.Directory != nil:
		p.warn("the CRS is given both as GeoTIFF keys and as well-known text: the text is taken")
	case h.Format >= 6 && !bit:
		p.warn("point format %d needs the WKT bit of the global encoding, which is not set", h.Format)
	}
	var crs vector.CRS
	var err error
	if wkt != "" {
		crs, err = georef.FromWKT(wkt)
	} else if keys.Directory != nil {
		var warnings []string
		crs, warnings, err = keys.CRS()
		p.warnings = append(p.warnings, warnings...)
	}
	if err != nil {
		p.warn("the CRS cannot be read: %v", err)
		return
	}
	h.CRS = crs
}

// definition returns the well-known text, of the last record that has any:
// a program that changes the CRS may append one.
func (h *Header) definition() string {
	var found string
	for _, records := range [][]VLR{h.VLRs, h.EVLRs} {
		for i := range records {
			if v := &records[i]; v.Is(projection, georef.RecordWKT) && text(v.Data) != "" {
				found = text(v.Data)
			}
		}
	}
	return found
}

func (h *Header) keys() georef.Keys {
	var k georef.Keys
	for _, records := range [][]VLR{h.VLRs, h.EVLRs} {
		for i := range records {
			v := &records[i]
			switch {
			case v.Is(projection, georef.RecordKeys):
				k.Directory = v.Data
			case v.Is(projection, georef.RecordDoubles):
				k.Doubles = v.Data
			case v.Is(projection, georef.RecordASCII):
				k.ASCII = v.Data
			}
		}
	}
	return k
}

// placeCRS puts the record of a known CRS in front of the header's own
// variable length records, in place of any CRS record among them.
func (h *Header) placeCRS() error {
	if h.Format >= 6 {
		h.Encoding |= WKT
	}
	if !h.CRS.Known() {
		return nil
	}
	var records []VLR
	var err error
	if h.Format >= 6 || h.Version >= 4 && !georef.HasKeys(h.CRS) {
		h.Encoding |= WKT
		records, err = h.textRecord()
	} else {
		h.Encoding &^= WKT
		records, err = h.keyRecords()
	}
	if err != nil {
		return err
	}
	h.VLRs = append(records, withoutCRS(h.VLRs)...)
	h.EVLRs = withoutCRS(h.EVLRs)
	return nil
}

func (h *Header) textRecord() ([]VLR, error) {
	if h.CRS.WKT == "" {
		return nil, fmt.Errorf("the definition of %s as well-known text is needed, and not at hand", h.CRS)
	}
	v := VLR{UserID: projection, RecordID: georef.RecordWKT, Description: "OGC CRS WKT", Data: append([]byte(h.CRS.WKT), 0)}
	if len(v.Data) > math.MaxUint16 {
		return nil, errors.New("the definition of the CRS is longer than 65534 bytes")
	}
	return []VLR{v}, nil
}

func (h *Header) keyRecords() ([]VLR, error) {
	if !georef.HasKeys(h.CRS) {
		return nil, fmt.Errorf("GeoTIFF keys cannot name %s: write LAS 1.4 with its well-known text", h.CRS)
	}
	k := georef.KeysOf(h.CRS)
	records := []VLR{{UserID: projection, RecordID: georef.RecordKeys, Description: "GeoTIFF keys", Data: k.Directory}}
	if len(k.ASCII) > 0 {
		records = append(records, VLR{UserID: projection, RecordID: georef.RecordASCII, Description: "GeoTIFF text", Data: k.ASCII})
	}
	return records, nil
}

func withoutCRS(records []VLR) []VLR {
	var kept []VLR
	for _, v := range records {
		if v.UserID != projection {
			kept = append(kept, v)
		}
	}
	return kept
}
