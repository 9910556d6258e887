package las

import (
	"errors"
	"fmt"

	"quoin/extract/las/georef"
)

// projection is the user id of the records that hold a CRS.
const projection = "LASF_Projection"

// placeCRS puts the record of a known CRS in front of the header's own
// variable length records, in place of any CRS record among them.
func (h *Header) placeCRS() error {
	if h.Format >= 6 {
		h.Encoding |= WKT
	}
	if !h.CRS.Known() {
		return nil
	}
	asText := h.Format >= 6 || h.Version >= 4 && !georef.HasKeys(h.CRS)
	if asText && h.CRS.WKT == "" {
		return fmt.Errorf("point format %d needs the definition of %s as well-known text", h.Format, h.CRS)
	}
	if !asText && !georef.HasKeys(h.CRS) {
		return fmt.Errorf("GeoTIFF keys cannot name %s: write LAS 1.4 with its well-known text", h.CRS)
	}
	var records []VLR
	if asText {
		h.Encoding |= WKT
		records = []VLR{{UserID: projection, RecordID: georef.RecordWKT, Description: "OGC WKT CRS", Data: append([]byte(h.CRS.WKT), 0)}}
	} else {
		h.Encoding &^= WKT
		keys, ascii := georef.Keys(h.CRS)
		records = []VLR{{UserID: projection, RecordID: georef.RecordKeys, Description: "GeoTIFF keys", Data: keys}}
		if len(ascii) > 0 {
			records = append(records, VLR{UserID: projection, RecordID: georef.RecordASCII, Description: "GeoTIFF text", Data: ascii})
		}
	}
	if !records[0].fits() {
		return errors.New("the definition of the CRS is longer than 65534 bytes")
	}
	h.VLRs = append(records, withoutCRS(h.VLRs)...)
	h.EVLRs = withoutCRS(h.EVLRs)
	return nil
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
