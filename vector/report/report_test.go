package report

import (
	"bytes"
	"context"
	"image"
	"image/color"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/paulmach/orb"

	"quoin/vector"
	"quoin/vector/control"
)

// sample is a delivery of two buildings, one of them to look at, with four
// surveyed points.
func sample() Content {
	square := func(x, y float64) orb.Polygon {
		return orb.Polygon{{{x, y}, {x + 10, y}, {x + 10, y + 8}, {x, y + 8}, {x, y}}}
	}
	d := vector.Delivery{
		CRS:     vector.CRS{Authority: "EPSG", Code: 25832, Name: "ETRS89 / UTM zone 32N", Horizontal: vector.Metre, Vertical: vector.Metre},
		Lineage: "Simulated <b>& escaped</b>.", Time: time.Date(2026, 5, 4, 0, 0, 0, 0, time.UTC),
	}
	for i, at := range []orb.Point{{500010, 5500010}, {500040, 5500030}} {
		f := vector.Footprint{
			ID: []string{"first", "second"}[i], Reference: vector.RoofEdge, Polygon: square(at[0], at[1]),
			GroundElevation: 100, EaveHeight: 5, RidgeHeight: math.NaN(), PointCount: 900, Quality: 0.9 - 0.3*float64(i),
		}
		for v, p := range f.Polygon[0][:4] {
			f.Corners = append(f.Corners, vector.Corner{
				BuildingID: f.ID, Vertex: v, Point: p, Elevation: 105, SigmaE: 0.01, SigmaN: 0.02, AngleDeg: 90, Kind: vector.Adjusted,
			})
		}
		d.Footprints = append(d.Footprints, f)
	}
	d.Footprints[1].Review = []vector.Reason{vector.ReviewOccluded, vector.ReviewVegetation}
	d.Footprints[1].Corners[2].Kind = vector.Extended
	d.Checks = control.Match(d.Corners(), []control.Point{
		{ID: "1", East: 500010.02, North: 5500010.01, Elevation: 105.01},
		{ID: "2", East: 500020.01, North: 5500009.98, Elevation: 105},
		{ID: "3", East: 500049.97, North: 5500030.02, Elevation: math.NaN()},
		{ID: "far", East: 500000, North: 5500000, Elevation: 1},
	}, 0.5)
	checked := control.Stats(d.Checks)
	img := image.NewRGBA(image.Rect(0, 0, 600, 480))
	for i := range img.Pix {
		img.Pix[i] = uint8(90 + i%60)
	}
	img.SetRGBA(0, 0, color.RGBA{255, 0, 0, 255})
	return Content{
		Delivery: d, Image: img, Source: "The cloud seen from above", Checked: &checked, Version: "1.2.3",
		Bound:    orb.Bound{Min: orb.Point{500000, 5500000}, Max: orb.Point{500060, 5500048}},
		Facts:    []Group{{"Cloud", []Fact{{"spacing", "0.13 m", "measured"}}}},
		Warnings: []string{"one & only"},
	}
}

func write(t *testing.T, c Content) (path, text string) {
	t.Helper()
	path = filepath.Join(t.TempDir(), "report.html")
	if err := Write(path, c); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return path, string(content)
}

func TestPageSaysWhatMatters(t *testing.T) {
	_, text := write(t, sample())
	for _, want := range []string{
		"<strong>2</strong> buildings, 160 m²", "<strong>7</strong> corners", "not a boundary survey", "licensed professional",
		"Vegetation covers part of the roof", "far: ", "one &amp; only", "&lt;b&gt;&amp; escaped&lt;/b&gt;", "<dd>0.13 m</dd>",
		"asks for at least 20 points", "<td>5.00</td><td>–</td>", "quoin 1.2.3",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

func TestPageWithoutAnything(t *testing.T) {
	c := sample()
	c.Delivery.Footprints, c.Delivery.Checks, c.Checked, c.Warnings = nil, nil, nil, nil
	_, text := write(t, c)
	for _, want := range []string{"No building in sight", "Not tested", "No outline gives a reason"} {
		if !strings.Contains(text, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if strings.Contains(text, "NaN") {
		t.Error("the page shows a NaN")
	}
}

func TestSameContentGivesTheSameBytes(t *testing.T) {
	_, a := write(t, sample())
	_, b := write(t, sample())
	if a != b {
		t.Error("two pages of the same content differ")
	}
}

func TestPlanIsTrueToScale(t *testing.T) {
	p := newPlan(sample())
	if x, y := p.at(orb.Point{500000, 5500048}); x != 0 || y != 0 {
		t.Errorf("the north-west corner is at %v, %v, want 0, 0", x, y)
	}
	if x, y := p.at(orb.Point{500060, 5500000}); x != 600 || y != 480 {
		t.Errorf("the south-east corner is at %v, %v, want 600, 480", x, y)
	}
	if p.Bar != 100 || p.BarText != "10 m" {
		t.Errorf("the bar has %v pixels for %s, want 100 for 10 m", p.Bar, p.BarText)
	}
}

func TestRoundLength(t *testing.T) {
	for in, want := range map[float64]float64{1: 1, 1.9: 1, 2: 2, 4.9: 2, 5: 5, 99: 50, 0.03: 0.02} {
		if got := roundLength(in); math.Abs(got-want) > 1e-12 {
			t.Errorf("roundLength(%v) is %v, want %v", in, got, want)
		}
	}
}

// chromium returns the path of the browser, or skips the test.
func chromium(t *testing.T) string {
	t.Helper()
	path, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("chromium is not installed: make install-test installs it")
	}
	return path
}

// inspect is run in the page: what it loaded from outside, whether its image
// decodes, whether it is wider than the window, and which texts have less
// contrast than 4.5:1 (WCAG 2.2, 1.4.3; the formula is that of its definition
// of contrast ratio).
const inspect = `(async () => {
	const lum = c => { const f = c.map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; });
		return 0.2126 * f[0] + 0.7152 * f[1] + 0.0722 * f[2]; };
	const rgb = s => s.match(/[\d.]+/g).map(Number);
	const back = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c.length < 4 || c[3] > 0) return c.slice(0, 3); } return [255, 255, 255]; };
	const weak = [];
	let seen = 0;
	for (const e of document.querySelectorAll("body *")) {
		if (e.closest("svg") || e.tagName === "SCRIPT" || ![...e.childNodes].some(n => n.nodeType === 3 && n.data.trim())) continue;
		seen++;
		const a = lum(rgb(getComputedStyle(e).color).slice(0, 3)), b = lum(back(e));
		const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
		if (ratio < 4.5) weak.push(e.tagName + " " + e.textContent.trim().slice(0, 30) + " " + ratio.toFixed(2));
	}
	const picture = new Image();
	picture.src = document.getElementById("nadir").getAttribute("href");
	await picture.decode();
	const named = [...document.querySelectorAll("svg[role=img], button")].every(e => e.getAttribute("aria-label") || e.tagName === "BUTTON" && e.textContent.trim());
	const levels = [...document.querySelectorAll("h1, h2, h3, h4")].map(h => Number(h.tagName[1]));
	const ordered = levels[0] === 1 && levels.every((l, i) => i === 0 || l <= levels[i - 1] + 1) && levels.filter(l => l === 1).length === 1;
	const headed = [...document.querySelectorAll("table")].every(t => t.caption && t.tHead && [...t.tHead.rows[0].cells].every(c => c.scope === "col" && c.textContent.trim()));
	return { weak, seen, width: picture.naturalWidth, named, ordered, headed,
		outside: performance.getEntriesByType("resource").map(r => r.name).filter(n => !n.startsWith("data:")),
		wide: document.documentElement.scrollWidth - document.documentElement.clientWidth };
})()`

type findings struct {
	Weak    []string
	Seen    int
	Width   int
	Named   bool
	Ordered bool
	Headed  bool
	Outside []string
	Wide    int
}

func TestPageInABrowser(t *testing.T) {
	path, _ := write(t, sample())
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.ExecPath(chromium(t)), chromedp.WindowSize(390, 800))
	ctx, stop := chromedp.NewExecAllocator(t.Context(), options...)
	defer stop()
	ctx, stop = chromedp.NewContext(ctx)
	defer stop()
	if _, err := chromedp.Run(ctx, chromedp.Navigate("file://"+path)); err != nil {
		t.Fatal(err)
	}
	f, err := chromedp.Run(ctx, chromedp.Evaluate[findings](inspect, chromedp.EvalAwaitPromise))
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Weak) > 0 || f.Seen < 50 {
		t.Errorf("of %d texts these have too little contrast: %q", f.Seen, f.Weak)
	}
	if f.Width != 600 {
		t.Errorf("the image is %d pixels wide, want 600", f.Width)
	}
	if !f.Named {
		t.Error("a picture or a button has no name for those who can't see it")
	}
	if !f.Ordered || !f.Headed {
		t.Errorf("headings in order: %v; tables with a caption and headers: %v", f.Ordered, f.Headed)
	}
	if len(f.Outside) > 0 {
		t.Errorf("the page asks for %q", f.Outside)
	}
	if f.Wide > 0 {
		t.Errorf("the page is %d pixels wider than a phone", f.Wide)
	}
}

func TestPageLeavesNothingOnTheConsole(t *testing.T) {
	path, _ := write(t, sample())
	ctx, stop := context.WithTimeout(t.Context(), time.Minute)
	defer stop()
	cmd := exec.CommandContext(ctx, chromium(t), "--headless", "--no-sandbox", "--disable-gpu", "--disable-background-networking",
		"--no-first-run", "--enable-logging=stderr", "--user-data-dir="+t.TempDir(), "--dump-dom", "file://"+path)
	var messages bytes.Buffer
	cmd.Stderr = &messages
	dom, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v\n%s", err, messages.String())
	}
	if !strings.Contains(string(dom), "Building footprints") {
		t.Error("the browser did not show the page")
	}
	for line := range strings.Lines(messages.String()) {
		if strings.Contains(line, "CONSOLE") {
			t.Errorf("console: %s", line)
		}
	}
}
