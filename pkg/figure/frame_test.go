package figure

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image/png"
	"regexp"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"
)

// A key of several lines makes the picture higher and leaves the plot as it was.
func TestKeyGrowsThePicture(t *testing.T) {
	runs := sampleRuns(16)[:16]
	few, err := Overlay(runs[:2], OfSpeed, ByTime, Options{Size: Narrow})
	if err != nil {
		t.Fatal(err)
	}
	many, err := Overlay(runs, OfSpeed, ByTime, Options{Size: Narrow})
	if err != nil {
		t.Fatal(err)
	}
	low, high := few.laidOut(Light(), true), many.laidOut(Light(), true)
	places := layKey(Light(), many.Key, Narrow.W-2*margin)
	lines := places[len(places)-1].line
	if lines < 2 || low.H != Narrow.H || high.H != Narrow.H+keyLine*vg.Length(lines) {
		t.Errorf("%v with a line, %v with %d", low, high, lines+1)
	}
	if h := many.Framed(Frame{Height: 200}).laidOut(Light(), true).H; h != 200 {
		t.Errorf("%v high, 200 was asked for", h)
	}
}

// Lines are named where they end if that can be read, and then have no key.
func TestNamesAtLineEnds(t *testing.T) {
	keyed := func(f *Figure) bool { return strings.Contains(string(f.SVG()), `x="29"`) }
	f, err := Overlay(sampleRuns(2), OfSpeed, ByTime, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if keyed(f) {
		t.Error("three lines far apart have a key")
	}
	f.Ends[1] = f.Ends[0]
	if !keyed(f) {
		t.Error("two lines that end in one place have no key")
	}
}

func TestPNGSaysItsDots(t *testing.T) {
	b, err := all(t)["wide speed"].PNG(Light(), 2)
	if err != nil {
		t.Fatal(err)
	}
	i := bytes.Index(b, []byte("pHYs"))
	if i < 0 {
		t.Fatal("no pHYs")
	}
	if x, y := binary.BigEndian.Uint32(b[i+4:]), binary.BigEndian.Uint32(b[i+8:]); x != 7559 || y != x || b[i+12] != 1 { // 192 dots an inch
		t.Errorf("%d by %d dots, unit %d", x, y, b[i+12])
	}
	if _, err := png.Decode(bytes.NewReader(b)); err != nil {
		t.Error(err) // the sum of the chunk is checked by the decoder
	}
}

// Every text says how wide it is, so that no other face pushes it over the edge.
func TestTextKeepsItsRoom(t *testing.T) {
	f := all(t)["wide speed"]
	for form, svg := range map[string]string{"file": string(f.SVG()), "page": string(f.InlineSVG("a"))} {
		texts := regexp.MustCompile(`<text x="([0-9.]+)"[^>]* textLength="([0-9.]+)"`).FindAllStringSubmatch(svg, -1)
		if len(texts) == 0 || len(texts) != strings.Count(svg, "<text ") {
			t.Fatalf("%s: %d of %d texts say how wide they are", form, len(texts), strings.Count(svg, "<text "))
		}
		for _, m := range texts {
			var x, w float64
			if _, err := fmt.Sscan(m[1]+" "+m[2], &x, &w); err != nil || x+w > f.Size.W.Points() {
				t.Errorf("%s: %s: from %v to %v of %v", form, m[0], x, x+w, f.Size.W.Points())
			}
		}
	}
}

func TestFramed(t *testing.T) {
	f, err := Overlay(sampleRuns(1), OfAcceleration, BySpeed, Options{Units: "kmh"})
	if err != nil {
		t.Fatal(err)
	}
	if f.Title != "Acceleration against speed" || f.XTitle != "speed, km/h" || f.YTitle != "acceleration, g" {
		t.Errorf("%q, %q, %q", f.Title, f.XTitle, f.YTitle)
	}
	f.Framed(Frame{Title: "Own", X: &Range{0, 8}, Y: &Range{-1, 1}})
	p := f.Plot(Light())
	if f.Title != "Own" || p.X.Min != 0 || p.X.Max != 8 || p.Y.Min != -1 || p.Y.Max != 1 {
		t.Errorf("%q, %v to %v, %v to %v", f.Title, p.X.Min, p.X.Max, p.Y.Min, p.Y.Max)
	}
	data := f.Data()
	if got := strings.Join(data[0], ","); got != "run,mode,time_s,distance_m,speed_kmh,speed_u95_kmh,acceleration_g,acceleration_u95_g" || len(data) < 100 {
		t.Errorf("%d lines, %s", len(data), got)
	}
}

// Where one mode ends, the band of another does not jump.
func TestBandGoesOnWhereAnotherModeEnds(t *testing.T) {
	line := func(slope, end float64) *view {
		w := &view{}
		for x := 0.0; x <= end; x++ {
			w.t, w.v = append(w.t, x), append(w.v, slope*x)
		}
		return w
	}
	modes := []modeViews{{name: "a", views: []*view{line(1, 50), line(1.5, 50)}, way: []int{0, 0}},
		{name: "b", views: []*view{line(2, 100), line(2.01, 100)}, way: []int{0, 0}}}
	half := profiles(modes, func(w *view) (x, y []float64) { return w.t, w.v })[1].half
	for i := 2; i < len(half); i++ {
		if step := half[i] - half[i-1]; step < -0.5 || step > 0.5 {
			t.Errorf("the band is ±%.3g and then ±%.3g", half[i-1], half[i])
		}
	}
}
