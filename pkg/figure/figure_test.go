package figure

import (
	"bytes"
	"compress/zlib"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"gonum.org/v1/plot/vg"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// all draws every kind of figure in both sizes.
func all(t *testing.T) map[string]*Figure {
	t.Helper()
	runs := sampleRuns(2)
	out := map[string]*Figure{}
	add := func(name string, f *Figure, err error) {
		if err != nil {
			t.Fatal(name, err)
		}
		out[name] = f
	}
	for name, o := range map[string]Options{"wide": {}, "narrow": {Size: Narrow, Units: "kmh", From: timing.FromRest}} {
		f, err := SpeedTime(runs[0], o)
		add(name+" speed", f, err)
		f, err = AccelSpeed(runs[0], o)
		add(name+" acceleration", f, err)
		f, err = Overlay(runs, OfSpeed, ByTime, o)
		add(name+" time", f, err)
		f, err = Overlay(runs, OfSpeed, ByDistance, o)
		add(name+" distance", f, err)
	}
	return out
}

func TestSVGIsWellFormedAndDescribed(t *testing.T) {
	for name, f := range all(t) {
		for kind, svg := range map[string][]byte{"file": f.SVG(), "inline": f.InlineSVG("x")} {
			has := map[string]int{}
			d := xml.NewDecoder(bytes.NewReader(svg))
			for {
				tok, err := d.Token()
				if errors.Is(err, io.EOF) {
					break
				}
				if err != nil {
					t.Fatalf("%s %s: %v", name, kind, err)
				}
				if e, ok := tok.(xml.StartElement); ok {
					has[e.Name.Local]++
				}
			}
			if has["title"] != 1 || has["desc"] != 1 || has["path"] < 5 || has["text"] < 5 {
				t.Errorf("%s %s: elements %v", name, kind, has)
			}
			s := string(svg)
			if !strings.Contains(s, `role="img"`) || !strings.Contains(s, "aria-labelledby") {
				t.Errorf("%s %s: not marked as an image", name, kind)
			}
			if bad := regexp.MustCompile(`NaN|Inf|#-|%!`).FindString(s); bad != "" {
				t.Errorf("%s %s: holds %q", name, kind, bad)
			}
			if page := strings.Contains(s, "var(--fig-s1"); page != (kind == "inline") {
				t.Errorf("%s %s: custom properties %v", name, kind, page)
			}
		}
	}
}

func TestSameFigureSameBytes(t *testing.T) {
	a, b := all(t), all(t)
	for name := range a {
		if !bytes.Equal(a[name].SVG(), b[name].SVG()) {
			t.Errorf("%s: two SVGs differ", name)
		}
		p, err := a[name].PDF()
		if err != nil {
			t.Fatal(err)
		}
		q, err := b[name].PDF()
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(p, q) {
			t.Errorf("%s: two PDFs differ", name)
		}
		if !bytes.Contains(p, []byte("(D:20000101000000)")) {
			t.Errorf("%s: PDF carries another time than the fixed one", name)
		}
	}
}

// TestPDFHoldsItsLetters looks for the title, a font of two letters more than the figure
// has, and "±" by its number in Unicode.
func TestPDFHoldsItsLetters(t *testing.T) {
	f := all(t)["wide speed"]
	f.MadeBy = "fromrest test"
	b, err := f.PDF()
	if err != nil {
		t.Fatal(err)
	}
	if len(b) > 60_000 {
		t.Errorf("%d bytes: the whole typeface is in it", len(b))
	}
	for _, key := range []string{"/Title", "/Producer", "/FontFile2"} {
		if !bytes.Contains(b, []byte(key)) {
			t.Errorf("no %s", key)
		}
	}
	found := false
	for _, part := range bytes.Split(b, []byte("stream\n"))[1:] {
		r, err := zlib.NewReader(bytes.NewReader(part))
		if err != nil {
			continue
		}
		text, _ := io.ReadAll(r)
		found = found || bytes.Contains(text, []byte("Tj")) && bytes.Contains(text, []byte("\x00\xb1"))
	}
	if !found {
		t.Fatal("no ± in the PDF")
	}
}

func TestPNGHasTheAskedSizeAndGround(t *testing.T) {
	f := all(t)["narrow time"]
	for _, scale := range []float64{1, 2} {
		for _, th := range []*Theme{Light(), Dark()} {
			b, err := f.PNG(th, scale)
			if err != nil {
				t.Fatal(err)
			}
			img, err := png.Decode(bytes.NewReader(b))
			if err != nil {
				t.Fatal(err)
			}
			if got, want := img.Bounds().Dx(), int(400*scale); got != want {
				t.Errorf("width %d, want %d", got, want)
			}
			r, g, bl, _ := img.At(1, 1).RGBA()
			wr, wg, wb, _ := th.Paper().RGBA()
			if r != wr || g != wg || bl != wb {
				t.Errorf("ground is %d %d %d", r>>8, g>>8, bl>>8)
			}
		}
	}
	if _, err := f.PNG(Light(), 0); err == nil {
		t.Error("scale 0 was taken")
	}
}

func TestForeignCharactersDoNotBreakOutputs(t *testing.T) {
	run := sampleRun("模式<&>\x00\"#1", "é模", 4, 80, 1)
	f, err := SpeedTime(run, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if err := xml.Unmarshal(f.SVG(), new(struct{})); err != nil {
		t.Error(err)
	}
	if _, err := f.PNG(Light(), 1); err != nil {
		t.Error(err)
	}
	if _, err := f.PDF(); err != nil {
		t.Error(err)
	}
}

func TestGapsBreakTheLine(t *testing.T) {
	nan := math.NaN()
	got := spans([]float64{0, 1, 2, 3, 4, 5}, []float64{nan, 1, 2, nan, 4, math.Inf(1)})
	want := [][2]int{{1, 3}, {4, 5}}
	if len(got) != 2 || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("spans %v, want %v", got, want)
	}
	run := sampleRun("gap#1", "", 4, 80, 1)
	for i := 700; i < 720; i++ {
		run.Trace.V[i], run.Trace.SV[i], run.Trace.A[i] = nan, nan, nan
	}
	for _, f := range []func(*session.TimedRun, Options) (*Figure, error){SpeedTime, AccelSpeed} {
		fig, err := f(run, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(fig.SVG(), []byte("NaN")) {
			t.Error("NaN was drawn")
		}
	}
}

func TestSimplifyStaysClose(t *testing.T) {
	var pts []vg.Point
	for i := range 2000 {
		x := float64(i) / 10
		pts = append(pts, vg.Point{X: vg.Length(x), Y: vg.Length(40 * math.Sqrt(x))})
	}
	out := simplify(pts, tolerance)
	if len(out) > 200 {
		t.Errorf("%d points left of %d", len(out), len(pts))
	}
	k := 0
	for _, p := range pts {
		for k+2 < len(out) && out[k+1].X < p.X {
			k++
		}
		if d := distance(p, out[k], out[k+1]); d > tolerance*1.0001 {
			t.Fatalf("%v lies %v from the simplified line", p, d)
		}
	}
}

func TestTicksAreRound(t *testing.T) {
	for _, c := range []struct {
		lo, hi float64
		most   int
		want   string
	}{
		{-0.5, 17.2, 8, "0 5 10 15"},
		{0, 120, 6, "0 20 40 60 80 100 120"},
		{0, 0.45, 6, "0 0.1 0.2 0.3 0.4"},
		{-0.3, 0.3, 6, "−0.3 −0.2 −0.1 0 0.1 0.2 0.3"},
	} {
		var got []string
		for _, k := range (Ticks{c.most}).Ticks(c.lo, c.hi) {
			got = append(got, k.Label)
		}
		if s := strings.Join(got, " "); s != c.want {
			t.Errorf("ticks of %g to %g: %s, want %s", c.lo, c.hi, s, c.want)
		}
	}
	if k := (Ticks{5}).Ticks(1, 1); k != nil {
		t.Errorf("an empty axis has ticks %v", k)
	}
}

// TestLabelsKeepClear places many labels and looks for two that overlap.
func TestLabelsKeepClear(t *testing.T) {
	area := box(0, 0, 300, 200)
	var line []vg.Point
	var taken []vg.Rectangle
	for i := range 30 {
		line = append(line, vg.Point{X: vg.Length(i * 10), Y: vg.Length(200 * math.Sqrt(float64(i)/30))})
	}
	for i := 0; i < 30; i += 2 {
		if r, _, ok := place(area, line[i], 60, 8, i%4 == 0, taken, [][]vg.Point{line}); ok {
			for _, o := range taken {
				if r.Min.X < o.Max.X && o.Min.X < r.Max.X && r.Min.Y < o.Max.Y && o.Min.Y < r.Max.Y {
					t.Errorf("label %d at %v lies on %v", i, r, o)
				}
			}
			for j := 1; j < len(line); j++ {
				if crosses(line[j-1], line[j], r) {
					t.Errorf("label %d lies on the line", i)
				}
			}
			taken = append(taken, r)
		}
	}
	if len(taken) < 8 {
		t.Errorf("only %d of 15 labels found a place", len(taken))
	}
}

func TestRunsOfOneModeLookAlike(t *testing.T) {
	runs := sampleRuns(2)
	key, entry := Options{}.key(runs)
	if len(key) != 3 || entry[0] != entry[1] || entry[0] == entry[2] || key[0].Text != "eco (2 runs)" || key[0].Series == key[1].Series {
		t.Errorf("key %v, entries %v", key, entry)
	}
	key, entry = Options{}.key(runs[:2])
	if len(key) != 2 || entry[0] == entry[1] || key[0].Text != "eco#1" || key[0].Series != key[1].Series || key[0].Weight == key[1].Weight {
		t.Errorf("one mode: key %v, entries %v", key, entry)
	}
	// A mode keeps its line where others are not drawn, and in any order.
	o := Options{Modes: []string{"eco", "road", "load"}}
	all, _ := o.key(runs)
	some, _ := o.key([]*session.TimedRun{runs[5], runs[2]})
	if some[0].Series != all[2].Series || some[1].Series != all[1].Series {
		t.Errorf("all %v, some %v", all, some)
	}
}

func TestRunsThatAreNotCountedAreLeftOut(t *testing.T) {
	runs := sampleRuns(1)
	runs[1].Counted = false
	f, err := Overlay(runs, OfSpeed, ByTime, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Key) != 2 || !strings.Contains(f.Desc, "One run that is not counted is left out") {
		t.Errorf("key %v, %q", f.Key, f.Desc)
	}
	if _, err := Overlay(nil, OfSpeed, ByTime, Options{}); !errors.Is(err, ErrNoRun) {
		t.Errorf("no run: %v", err)
	}
	if _, err := SpeedTime(&session.TimedRun{ID: "x#1"}, Options{}); err == nil {
		t.Error("a run without a trace was drawn")
	}
}

// TestEveryLineDiffers counts the lines that colour and dashes make.
func TestEveryLineDiffers(t *testing.T) {
	seen := map[string]bool{}
	for i := range 35 {
		l := Light().Line(i)
		k := string(l.Color.(Paint).Role)
		for _, d := range l.Dashes {
			k += " " + num(d.Points())
		}
		if seen[k] {
			t.Errorf("line %d looks like another: %s", i, k)
		}
		seen[k] = true
	}
}

func BenchmarkOverlaySVG(b *testing.B) {
	runs := sampleRuns(3)
	for b.Loop() {
		f, err := Overlay(runs, OfSpeed, ByTime, Options{})
		if err != nil {
			b.Fatal(err)
		}
		f.SVG()
	}
}
