package statement

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
	"strings"

	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/assess"
)

// ISO19115 is the URI of the standard in which Metadata writes.
const ISO19115 = "http://standards.iso.org/iso/19115/-3/mdb/2.0"

// Names of measures in ISO 19157 with their identifiers in its annex, as
// INSPIRE's data specifications cite them.
const (
	measureRMSEP = "47" // root mean square error of planimetry
	measureRMSE  = "39" // root mean square error, one dimension
)

// codeLists is where the code lists of the standard are published.
const codeLists = "http://standards.iso.org/iso/19115/resources/Codelists/cat/codelists.xml#"

// Metadata returns the statement as an ISO 19115-3 record with ISO 19157
// measures of positional accuracy, for gpkg_metadata and as a file of its own:
// scope, CRS, what the data are, where they lie and what they must not be used
// for, accuracy, lineage. Without a test it holds a descriptive result that says
// so. Elements are in the order of the schemas, which are known from memory.
func Metadata(c Content) vector.Metadata {
	var b bytes.Buffer
	b.WriteString(xml.Header)
	b.WriteString(`<mdb:MD_Metadata xmlns:mdb="http://standards.iso.org/iso/19115/-3/mdb/2.0" xmlns:mdq="http://standards.iso.org/iso/19157/-2/mdq/1.0" xmlns:mcc="http://standards.iso.org/iso/19115/-3/mcc/1.0" xmlns:mco="http://standards.iso.org/iso/19115/-3/mco/1.0" xmlns:mri="http://standards.iso.org/iso/19115/-3/mri/1.0" xmlns:mrs="http://standards.iso.org/iso/19115/-3/mrs/1.0" xmlns:mrl="http://standards.iso.org/iso/19115/-3/mrl/2.0" xmlns:gex="http://standards.iso.org/iso/19115/-3/gex/1.0" xmlns:cit="http://standards.iso.org/iso/19115/-3/cit/2.0" xmlns:gco="http://standards.iso.org/iso/19115/-3/gco/1.0">` + "\n")
	scope := listed("mcc:MD_ScopeCode", "dataset")
	fmt.Fprintf(&b, "<mdb:metadataScope><mdb:MD_MetadataScope><mdb:resourceScope>%s</mdb:resourceScope></mdb:MD_MetadataScope></mdb:metadataScope>\n", scope)
	b.WriteString(`<mdb:contact gco:nilReason="missing"/>` + "\n")
	fmt.Fprintf(&b, "<mdb:dateInfo>%s</mdb:dateInfo>\n", created(c))
	fmt.Fprintf(&b, "<mdb:metadataStandard>%s</mdb:metadataStandard>\n", citation("ISO 19115-3", ""))
	for _, code := range systems(c.Delivery.CRS) {
		fmt.Fprintf(&b, "<mdb:referenceSystemInfo><mrs:MD_ReferenceSystem><mrs:referenceSystemIdentifier>%s</mrs:referenceSystemIdentifier></mrs:MD_ReferenceSystem></mdb:referenceSystemInfo>\n", identifier(code))
	}
	fmt.Fprintf(&b, "<mdb:identificationInfo><mri:MD_DataIdentification>%s</mri:MD_DataIdentification></mdb:identificationInfo>\n", identification(c))
	fmt.Fprintf(&b, "<mdb:dataQualityInfo><mdq:DQ_DataQuality><mdq:scope><mcc:MD_Scope><mcc:level>%s</mcc:level></mcc:MD_Scope></mdq:scope>\n", scope)
	for _, r := range reports(c) {
		b.WriteString(r + "\n")
	}
	b.WriteString("</mdq:DQ_DataQuality></mdb:dataQualityInfo>\n")
	fmt.Fprintf(&b, "<mdb:resourceLineage><mrl:LI_Lineage><mrl:statement>%s</mrl:statement></mrl:LI_Lineage></mdb:resourceLineage>\n", characters(c.Delivery.Lineage))
	b.WriteString("</mdb:MD_Metadata>\n")
	return vector.Metadata{Standard: ISO19115, MIME: "text/xml", Text: b.String()}
}

// listed is a value of a code list.
func listed(list, value string) string {
	return fmt.Sprintf(`<%s codeList="%s%s" codeListValue="%s"/>`, list, codeLists, list[strings.IndexByte(list, ':')+1:], value)
}

func created(c Content) string {
	return fmt.Sprintf("<cit:CI_Date><cit:date><gco:DateTime>%s</gco:DateTime></cit:date><cit:dateType>%s</cit:dateType></cit:CI_Date>",
		c.Delivery.Time.UTC().Format("2006-01-02T15:04:05Z"), listed("cit:CI_DateTypeCode", "creation"))
}

// citation names something, with its date as XML where there is one.
func citation(title, date string) string {
	if date != "" {
		date = "<cit:date>" + date + "</cit:date>"
	}
	return "<cit:CI_Citation><cit:title>" + characters(title) + "</cit:title>" + date + "</cit:CI_Citation>"
}

// systems names the horizontal and the vertical CRS, each by itself.
func systems(c vector.CRS) []string {
	if c.VerticalCode == 0 {
		return []string{c.String()}
	}
	vertical := fmt.Sprintf("EPSG:%d", c.VerticalCode)
	c.VerticalCode = 0
	return []string{c.String(), vertical}
}

// identification says what the data are, where they lie, and what limits their
// use.
func identification(c Content) string {
	var b strings.Builder
	fmt.Fprintf(&b, "<mri:citation>%s</mri:citation>", citation("Building footprints, roof edges", created(c)))
	fmt.Fprintf(&b, "<mri:abstract>%s</mri:abstract>", characters(strings.Join(data(c), " ")))
	fmt.Fprintf(&b, "<mri:spatialRepresentationType>%s</mri:spatialRepresentationType>", listed("mcc:MD_SpatialRepresentationTypeCode", "vector"))
	b.WriteString("<mri:topicCategory><mri:MD_TopicCategoryCode>structure</mri:MD_TopicCategoryCode></mri:topicCategory>")
	if box, ok := extent(c.Delivery); ok {
		text := fmt.Sprintf("East %.1f to %.1f, north %.1f to %.1f in %s", box.Min[0], box.Max[0], box.Min[1], box.Max[1], c.Delivery.CRS)
		fmt.Fprintf(&b, "<mri:extent><gex:EX_Extent><gex:description>%s</gex:description></gex:EX_Extent></mri:extent>", characters(text))
	}
	for _, s := range Sections(c) {
		if s.Title == "Cautions" {
			fmt.Fprintf(&b, "<mri:resourceConstraints><mco:MD_Constraints><mco:useLimitation>%s</mco:useLimitation></mco:MD_Constraints></mri:resourceConstraints>", characters(strings.Join(s.Lines, " ")))
		}
	}
	return b.String()
}

// extent is the bound of the outlines.
func extent(d vector.Delivery) (box orb.Bound, ok bool) {
	for _, f := range d.Footprints {
		switch {
		case len(f.Polygon) == 0:
		case !ok:
			box, ok = f.Polygon.Bound(), true
		default:
			box = box.Union(f.Polygon.Bound())
		}
	}
	return box, ok
}

// reports returns the quality reports: quantitative ones with a test, and a
// descriptive one with all sentences in either case.
func reports(c Content) []string {
	var list []string
	if a := c.Assessment; a != nil && a.Matched > 0 {
		list = append(list,
			quantity("Root mean square error of planimetry, all matched check points", measureRMSEP, float64(a.All.RMSEH), c.CRS.Horizontal, a),
			quantity("Root mean square error of planimetry, without blunders", measureRMSEP, float64(a.Kept.RMSEH), c.CRS.Horizontal, a))
		if a.All.Up.N > 0 {
			list = append(list, quantity("Root mean square error of elevation, all matched check points", measureRMSE, float64(a.All.Up.RMSE), c.CRS.Vertical, a))
		}
	}
	var text []string
	for _, s := range Sections(c) {
		if s.Title != "Data" {
			text = append(text, s.Title+". "+strings.Join(s.Lines, " "))
		}
	}
	return append(list, report("", "<mdq:DQ_DescriptiveResult><mdq:statement>"+characters(strings.Join(text, "\n"))+"</mdq:statement></mdq:DQ_DescriptiveResult>"))
}

// quantity is a report with a number; empty where it is unknown.
func quantity(name, id string, v float64, u vector.Unit, a *assess.Assessment) string {
	if math.IsNaN(v) {
		return ""
	}
	measure := fmt.Sprintf("<mdq:measure><mdq:DQ_MeasureReference><mdq:measureIdentification>%s</mdq:measureIdentification><mdq:nameOfMeasure>%s</mdq:nameOfMeasure></mdq:DQ_MeasureReference></mdq:measure><mdq:evaluationMethod><mdq:DQ_SampleBasedInspection><mdq:evaluationMethodDescription>%s</mdq:evaluationMethodDescription></mdq:DQ_SampleBasedInspection></mdq:evaluationMethod>",
		identifier(id), characters(name), characters(fmt.Sprintf("%d surveyed check points matched to corners, on %s; withheld from any adjustment", a.Matched, counted(a.Buildings, "building"))))
	return report(measure, fmt.Sprintf("<mdq:DQ_QuantitativeResult><mdq:value><gco:Record>%.4f</gco:Record></mdq:value><mdq:valueUnit><gco:UnitDefinition>%s</gco:UnitDefinition></mdq:valueUnit></mdq:DQ_QuantitativeResult>", v, escaped(named(u))))
}

func report(measure, result string) string {
	return "<mdq:report><mdq:DQ_AbsoluteExternalPositionalAccuracy>" + measure + "<mdq:result>" + result + "</mdq:result></mdq:DQ_AbsoluteExternalPositionalAccuracy></mdq:report>"
}

func identifier(code string) string {
	return "<mcc:MD_Identifier><mcc:code>" + characters(code) + "</mcc:code></mcc:MD_Identifier>"
}

func characters(s string) string {
	return "<gco:CharacterString>" + escaped(s) + "</gco:CharacterString>"
}

func escaped(s string) string {
	var b bytes.Buffer
	if err := xml.EscapeText(&b, []byte(s)); err != nil {
		panic(err) // a buffer takes everything
	}
	return b.String()
}
