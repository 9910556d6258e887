package extract

import (
	"context"
	"fmt"

	"quoin/vector/report"
	"quoin/vector/statement"
)

// writeReport makes the page that people read.
func (j *job) writeReport(ctx context.Context) error {
	picture, err := j.album.block(ctx)
	if err != nil {
		return err
	}
	plates, left, err := j.pagePlates(ctx, picture)
	if err != nil {
		return err
	}
	said := j.statement(j.delivery)
	said.Certificate = false // the page has a block of its own
	var image []string
	if j.image != nil {
		image = j.image.Sentences()
	}
	err = report.Write(j.out.path(fileReport), report.Content{
		Delivery: j.delivery, Image: picture.image, Source: picture.source, Bound: picture.bound,
		Checked: j.record.checked, Assessed: j.assessment, Statement: statement.Sections(said),
		Warnings: j.record.Warnings, Version: j.o.Version, Certificate: j.o.Certificate, Format: j.o.ReportFormat,
		ImageCheck: image, Facts: j.facts(), Plates: plates, PlatesLeft: left,
	})
	if err != nil || !j.o.PDF {
		return err
	}
	return report.PDF(ctx, j.out.path(fileReport), j.out.path(filePrinted))
}

// facts lists what the run rests on, for people.
func (j *job) facts() []report.Group {
	m, r, p := j.cloud.Measures, j.cloud.Report, j.record.Points
	value := func(format string, v ...any) string { return fmt.Sprintf(format, v...) }
	points := report.Group{Title: "Points", Facts: []report.Fact{
		{Name: "read", Value: value("%s in %d files", j.o.ReportFormat.Number(0, float64(p.Read)), len(j.files))},
		{Name: "left out", Value: value("%d withheld, %d noise, %d stray, %d repeated, %d not a number", p.Withheld, p.Noise, p.Stray, p.Repeated, p.Invalid)},
		{Name: "used beside coordinates", Value: usedAttributes(j.record.Attributes)},
		{Name: "on the ground, on roofs", Value: value("%s; %s", j.o.ReportFormat.Number(0, float64(p.Ground)), j.o.ReportFormat.Number(0, float64(p.Roof)))},
		{Name: "held back", Value: value("%d above ground, in the layer held_back", len(j.delivery.HeldBack))},
	}}
	f := j.o.ReportFormat
	cloud := report.Group{Title: "Cloud", Facts: []report.Fact{
		{Name: "pulse density", Value: value("%s /m², 5 %% of places below %s", f.Number(1, m.Density), f.Number(1, r.Density.Fifth)), Origin: "measured"},
		{Name: "spacing", Value: f.Metres(3, m.Spacing), Origin: "measured"},
		{Name: "noise about smooth surfaces", Value: f.Metres(3, m.SigmaZ), Origin: "measured"},
		{Name: "horizontal noise", Value: f.Metres(3, m.Sigma), Origin: "measured at roof edges where there are enough"},
		{Name: "beam half-width", Value: f.Metres(3, m.Beam), Origin: "measured at roof edges where there are enough"},
		{Name: "swaths disagree by", Value: f.Metres(3, j.disagreement), Origin: "measured at roof edges, one standard deviation a swath"},
		{Name: "points with known sensor position", Value: f.Number(1, 100*r.Located) + " %", Origin: "from the points"},
	}}
	given := report.Group{Title: "Parameters"}
	for _, q := range j.record.Parameters {
		if q.Origin != Measured && q.Value != "" && !q.Machine {
			given.Facts = append(given.Facts, report.Fact{Name: q.Name, Value: value("%v %s", q.Value, q.Unit), Origin: string(q.Origin)})
		}
	}
	return []report.Group{points, cloud, given}
}
