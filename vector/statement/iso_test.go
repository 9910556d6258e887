package statement

import (
	"encoding/xml"
	"errors"
	"io"
	"slices"
	"strings"
	"testing"
)

// elementOrder is that of the children in the schemas of ISO 19115-3 and ISO/TS
// 19157-2, of the elements in use (from memory: no schema was at hand).
var elementOrder = map[string][]string{
	"MD_Metadata":                           {"metadataIdentifier", "metadataScope", "contact", "dateInfo", "metadataStandard", "spatialRepresentationInfo", "referenceSystemInfo", "identificationInfo", "contentInfo", "distributionInfo", "dataQualityInfo", "resourceLineage", "metadataConstraints"},
	"MD_DataIdentification":                 {"citation", "abstract", "purpose", "credit", "status", "pointOfContact", "spatialRepresentationType", "spatialResolution", "temporalResolution", "topicCategory", "extent", "additionalDocumentation", "resourceFormat", "descriptiveKeywords", "resourceConstraints"},
	"CI_Citation":                           {"title", "alternateTitle", "date", "edition"},
	"DQ_DataQuality":                        {"scope", "report"},
	"DQ_MeasureReference":                   {"measureIdentification", "nameOfMeasure", "measureDescription"},
	"DQ_QuantitativeResult":                 {"resultScope", "dateTime", "value", "valueUnit", "valueRecordType"},
	"MD_ReferenceSystem":                    {"referenceSystemIdentifier", "referenceSystemType"},
	"DQ_AbsoluteExternalPositionalAccuracy": {"standaloneQualityReportDetails", "measure", "evaluationMethod", "result"},
}

// Elements of the metadata are in the order of the schemas, and what a catalogue
// asks for is there: scope, date, CRS, title, limits of use, quality, lineage.
func TestMetadataIsInOrder(t *testing.T) {
	for name, c := range contents(t) {
		var path []string
		var last []int
		seen := map[string]bool{}
		d := xml.NewDecoder(strings.NewReader(Metadata(c).Text))
		for {
			token, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			switch e := token.(type) {
			case xml.StartElement:
				seen[e.Name.Local] = true
				if n := len(path); n > 0 {
					if want, ok := elementOrder[path[n-1]]; ok {
						at := slices.Index(want, e.Name.Local)
						if at < last[n-1] {
							t.Errorf("%s: %s within %s is out of order", name, e.Name.Local, path[n-1])
						}
						last[n-1] = at
					}
				}
				path, last = append(path, e.Name.Local), append(last, 0)
			case xml.EndElement:
				path, last = path[:len(path)-1], last[:len(last)-1]
			}
		}
		for _, element := range []string{"metadataScope", "dateInfo", "referenceSystemInfo", "title", "abstract", "useLimitation", "dataQualityInfo", "resourceLineage"} {
			if !seen[element] {
				t.Errorf("%s: no %s", name, element)
			}
		}
	}
}
