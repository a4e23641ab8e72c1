package report

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

func htmlOf(t *testing.T, res *session.Result, title string) string {
	t.Helper()
	return paperOf(t, res, Paper{Title: title})
}

func paperOf(t *testing.T, res *session.Result, want Paper) string {
	t.Helper()
	var b bytes.Buffer
	if err := HTML(t.Context(), &b, res, want); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestPageIsSelfContained(t *testing.T) {
	page := htmlOf(t, sample(), "")
	for _, bad := range []string{"<script", "<link", "<img", "@import", "url(", "src="} {
		if strings.Contains(page, bad) {
			t.Errorf("page holds %s", bad)
		}
	}
	if left := regexp.MustCompile(`https?://[^"]*`).FindAllString(strings.ReplaceAll(page, "http://www.w3.org/2000/svg", ""), -1); len(left) > 0 {
		t.Errorf("page names addresses: %q", left)
	}
}

func TestSameResultSameBytes(t *testing.T) {
	first := htmlOf(t, sample(), "")
	if again := htmlOf(t, sample(), ""); again != first {
		t.Error("two pages of one result differ")
	}
}

func TestNamesAreEscaped(t *testing.T) {
	res := sample()
	evil := `<script>alert("x")</script>`
	res.Logs[0].Path, res.Logs[0].Name = evil+".nmea", evil
	res.Runs[0].Mode, res.Runs[0].ID = evil, evil+"#1"
	res.Runs[3].Excluded = evil
	res.Warnings = []string{evil}
	if page := htmlOf(t, res, evil); strings.Contains(page, "<script") {
		t.Error("a name reached the page as markup")
	}
}

// TestPageIsWellFormed reads the page with a strict parser: the template has no
// unclosed element, and every figure has a title and a description.
func TestPageIsWellFormed(t *testing.T) {
	page := htmlOf(t, sample(), "")
	d := xml.NewDecoder(strings.NewReader(strings.Replace(page, "<!DOCTYPE html>", "", 1)))
	d.Strict = false
	d.AutoClose, d.Entity = xml.HTMLAutoClose, xml.HTMLEntity
	count := map[string]int{}
	ids, regions := map[string]bool{}, map[string]bool{}
	for {
		tok, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if e, ok := tok.(xml.StartElement); ok {
			count[e.Name.Local]++
			for _, a := range e.Attr {
				if a.Name.Local == "aria-label" && e.Name.Local == "section" {
					if a.Value == "" || regions[a.Value] {
						t.Errorf("region %q twice", a.Value)
					}
					regions[a.Value] = true
				}
				if a.Name.Local == "id" {
					if ids[a.Value] {
						t.Errorf("id %q twice", a.Value)
					}
					ids[a.Value] = true
				}
			}
		}
	}
	// Four runs with two figures, the main figure in two widths, three targets and the time
	// gained; beside them two keys, two strips and their axis.
	const figures, pieces = 14, 5
	if count["svg"] != figures+pieces || count["desc"] != figures || count["title"] != figures+1 {
		t.Errorf("%d svg, %d desc, %d title", count["svg"], count["desc"], count["title"])
	}
}

func TestExcludedRunIsStruckAndNeverCounted(t *testing.T) {
	res := sample()
	page := htmlOf(t, res, "")
	if !strings.Contains(page, "<s>full#2</s>") || !strings.Contains(page, "tyres | cold") {
		t.Error("the excluded run is not struck through with its reason")
	}
	m := res.Means(res.Groups(), "0-60 mph", timing.FromRest)[1]
	if m.N != 1 {
		t.Fatalf("mean of %d runs", m.N)
	}
	// 26.8224 m/s at 4 m/s².
	if math.Abs(m.X-6.7056) > 1e-9 {
		t.Errorf("mean %v", m.X)
	}
}

func TestPageSaysAllThatBelongsToIt(t *testing.T) {
	page := paperOf(t, sample(), Paper{Extent: Full})
	for _, want := range []string{"<small>1 out, one way only</small>", "full was driven one way only.", "00ff", "ff00", "checksum, 3 dropped, first at line 12",
		"Log at 25 samples a second", "Standing starts, 14 June 2026", "0.3048 m", "prefers-color-scheme:dark", "@media print"} {
		if !strings.Contains(page, want) {
			t.Errorf("page lacks %q", want)
		}
	}
}

// TestExtents holds each report to what it is for: all have the answer, the cautions and
// the hashes, a short one no figure of single runs, and only a full one what a better log
// would be worth.
func TestExtents(t *testing.T) {
	for extent, has := range map[Extent][3]bool{Short: {false, false, false}, Usual: {true, true, false}, Full: {true, true, true}} {
		page := paperOf(t, sample(), Paper{Extent: extent})
		for _, want := range append([]string{"Verdict", "8.941", "00ff", "ff00", "The evaluation was made with"}, Cautions()...) {
			if !strings.Contains(page, strings.ReplaceAll(want, "'", "&#39;")) {
				t.Errorf("report %d lacks %q", extent, want)
			}
		}
		if extent == Short && !strings.Contains(page, "dropped records") {
			t.Error("a short report does not say how much was dropped")
		}
		for i, part := range []string{"Modes compared", "Each run", "Log at 25 samples a second"} {
			if strings.Contains(page, part) != has[i] {
				t.Errorf("report %d and %q", extent, part)
			}
		}
	}
}
