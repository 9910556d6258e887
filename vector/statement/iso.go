package statement

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
	"strings"

	"quoin/vector"
	"quoin/vector/assess"
)

// isoURI names the standard in gpkg_metadata.
const isoURI = "http://standards.iso.org/iso/19115/-3/mdb/2.0"

// Names of measures in ISO 19157 with their identifiers in its annex, as
// INSPIRE's data specifications cite them.
const (
	measureRMSEP = "47" // root mean square error of planimetry
	measureRMSE  = "39" // root mean square error, one dimension
)

// Metadata returns the statement as an ISO 19115-3 record with ISO 19157
// measures of positional accuracy, for gpkg_metadata. Without a test it holds
// a descriptive result that says so.
func Metadata(c Content) vector.Metadata {
	var b bytes.Buffer
	b.WriteString(xml.Header)
	b.WriteString(`<mdb:MD_Metadata xmlns:mdb="http://standards.iso.org/iso/19115/-3/mdb/2.0" xmlns:mdq="http://standards.iso.org/iso/19157/-2/mdq/1.0" xmlns:mcc="http://standards.iso.org/iso/19115/-3/mcc/1.0" xmlns:mri="http://standards.iso.org/iso/19115/-3/mri/1.0" xmlns:mrs="http://standards.iso.org/iso/19115/-3/mrs/1.0" xmlns:mrl="http://standards.iso.org/iso/19115/-3/mrl/2.0" xmlns:cit="http://standards.iso.org/iso/19115/-3/cit/2.0" xmlns:gco="http://standards.iso.org/iso/19115/-3/gco/1.0">` + "\n")
	b.WriteString(`<mdb:contact gco:nilReason="missing"/>` + "\n")
	fmt.Fprintf(&b, `<mdb:dateInfo><cit:CI_Date><cit:date><gco:DateTime>%s</gco:DateTime></cit:date><cit:dateType><cit:CI_DateTypeCode codeList="http://standards.iso.org/iso/19115/resources/Codelists/cat/codelists.xml#CI_DateTypeCode" codeListValue="creation"/></cit:dateType></cit:CI_Date></mdb:dateInfo>`+"\n",
		c.Delivery.Time.UTC().Format("2006-01-02T15:04:05Z"))
	fmt.Fprintf(&b, "<mdb:referenceSystemInfo><mrs:MD_ReferenceSystem><mrs:referenceSystemIdentifier>%s</mrs:referenceSystemIdentifier></mrs:MD_ReferenceSystem></mdb:referenceSystemInfo>\n", identifier(c.Delivery.CRS.String()))
	fmt.Fprintf(&b, "<mdb:identificationInfo><mri:MD_DataIdentification><mri:citation><cit:CI_Citation><cit:title>%s</cit:title></cit:CI_Citation></mri:citation><mri:abstract>%s</mri:abstract></mri:MD_DataIdentification></mdb:identificationInfo>\n",
		characters("Building footprints, roof edges"), characters(strings.Join(data(c), " ")))
	fmt.Fprintf(&b, "<mdb:resourceLineage><mrl:LI_Lineage><mrl:statement>%s</mrl:statement></mrl:LI_Lineage></mdb:resourceLineage>\n", characters(c.Delivery.Lineage))
	b.WriteString(`<mdb:dataQualityInfo><mdq:DQ_DataQuality><mdq:scope><mcc:MD_Scope><mcc:level><mcc:MD_ScopeCode codeList="http://standards.iso.org/iso/19115/resources/Codelists/cat/codelists.xml#MD_ScopeCode" codeListValue="dataset"/></mcc:level></mcc:MD_Scope></mdq:scope>` + "\n")
	for _, r := range reports(c) {
		b.WriteString(r + "\n")
	}
	b.WriteString("</mdq:DQ_DataQuality></mdb:dataQualityInfo>\n</mdb:MD_Metadata>\n")
	return vector.Metadata{Standard: isoURI, MIME: "text/xml", Text: b.String()}
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
