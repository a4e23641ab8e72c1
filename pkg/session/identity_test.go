package session_test

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/format"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

// day is a day's logs of one vehicle in two modes, in a folder of their own.
type day struct {
	dir     string
	drives  map[string]*synth.Session // by the name of the log
	inputs  []session.Input
	sheet   string // drafted, with one run excluded
	outcome []string
}

var usual = synth.Receiver{Noise: 0.05, PositionNoise: 0.8, Step: 0.001 * 0.514444}

func drove(t *testing.T, seed uint64, begin time.Time, v synth.Vehicle) *synth.Session {
	t.Helper()
	ev := []synth.Event{{Kind: synth.Start, Vehicle: v}, {Kind: synth.Start, Vehicle: v, Reverse: true}}
	s, err := synth.Scenario{Begin: begin, HeadingDeg: 30, LatDeg: 45, LonDeg: -20, RestMin: 8, RestMax: 8, Variation: synth.Variation{Power: 0.01, Distance: 400}, Events: ev}.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// nmea is a drive as a receiver logs it.
func nmea(t *testing.T, s *synth.Session, rx synth.Receiver, seed uint64) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := synth.WriteNMEA(&b, s.Recording(rx, nil, seed), synth.NMEAOptions{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func put(t *testing.T, path string, data []byte) string {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

var morning = time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC)

func newDay(t *testing.T) *day {
	t.Helper()
	d := &day{dir: t.TempDir(), drives: map[string]*synth.Session{}}
	for i, mode := range []string{"calm", "full"} {
		s := drove(t, uint64(40+i), morning.Add(time.Duration(20*i)*time.Minute), synth.Van(mode))
		path := put(t, filepath.Join(d.dir, mode+".nmea"), nmea(t, s, usual, uint64(i)))
		d.drives[mode] = s
		d.inputs = append(d.inputs, session.Input{Path: path, Mode: mode})
	}
	text, err := d.run(t, nil, d.inputs...).DraftSheet("A day")
	if err != nil {
		t.Fatal(err)
	}
	// The second run of the second log is left out, which a sheet says by its place.
	at := strings.LastIndex(text, `exclude = ""`)
	d.sheet = text[:at] + `exclude = "gust"` + text[at+len(`exclude = ""`):]
	for i := range d.inputs {
		d.inputs[i].Mode = "" // from here on the sheet knows it
	}
	d.outcome = said(d.run(t, &d.sheet, d.inputs...))
	if len(d.outcome) != 4 || !strings.HasSuffix(d.outcome[3], "full false gust") {
		t.Fatalf("the day: %q", d.outcome)
	}
	return d
}

func (d *day) run(t *testing.T, text *string, in ...session.Input) *session.Result {
	t.Helper()
	var sh *sheet.Sheet
	if text != nil {
		var err error
		if sh, err = sheet.Parse(*text, "session.toml"); err != nil {
			t.Fatal(err)
		}
	}
	res, err := session.Run(context.Background(), in, session.Options{Sheet: sh})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(err, res.Failed)
	}
	if res.SheetError != nil {
		t.Fatal(res.SheetError)
	}
	return res
}

// said is what is said of the drives: in which minute, in which mode, counted or why not.
func said(res *session.Result) []string {
	var out []string
	for _, r := range res.Runs {
		if r.WitnessOf == nil {
			out = append(out, strings.TrimSpace(fmt.Sprintf("%s %s %v %s", r.Launch.Format("15:04"), r.Mode, r.Counted, r.Excluded)))
		}
	}
	slices.Sort(out)
	return out
}

// counted is how many runs of each mode are in its mean.
func counted(res *session.Result) string {
	out := ""
	for _, g := range res.Groups() {
		out += fmt.Sprintf("%s %d ", g.Name, res.Means([]session.Group{g}, "0-30 mph", timing.FromRollout)[0].N)
	}
	return out
}

func zipped(t *testing.T, data []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	if _, err := w.Write(data); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Whatever becomes of the logs around them, exclusions and modes stay with the runs
// they were given to.
func TestNothingMovesAnExclusionOrAMode(t *testing.T) {
	if testing.Short() {
		t.Skip("times many starts: left out of the short tests")
	}
	d := newDay(t)
	calm, full := mustReadAll(t, d.inputs[0].Path), mustReadAll(t, d.inputs[1].Path)
	other := drove(t, 77, morning.Add(-24*time.Hour), synth.Van("plain"))
	for name, change := range map[string]func(dir string) ([]string, string){
		"another folder with logs of the same names": func(dir string) ([]string, string) {
			return []string{put(t, dir+"/a/full.nmea", nmea(t, other, usual, 9)), d.inputs[0].Path, d.inputs[1].Path}, d.sheet
		},
		"renamed": func(dir string) ([]string, string) {
			return []string{put(t, dir+"/0001.nmea", full), put(t, dir+"/0002.nmea", calm)}, d.sheet
		},
		"names exchanged": func(dir string) ([]string, string) {
			return []string{put(t, dir+"/calm.nmea", full), put(t, dir+"/full.nmea", calm)}, d.sheet
		},
		"repacked": func(dir string) ([]string, string) {
			return []string{put(t, dir+"/calm.nmea.gz", zipped(t, calm)), put(t, dir+"/full.nmea.gz", zipped(t, full))}, d.sheet
		},
		"grown": func(dir string) ([]string, string) {
			more := nmea(t, drove(t, 78, morning.Add(time.Hour), synth.Van("full")), usual, 10)
			return []string{d.inputs[0].Path, put(t, dir+"/full.nmea", slices.Concat(full, more))}, d.sheet
		},
		"in another order": func(string) ([]string, string) {
			return []string{d.inputs[1].Path, d.inputs[0].Path}, d.sheet
		},
		"launches 3 s later": func(string) ([]string, string) {
			return []string{d.inputs[0].Path, d.inputs[1].Path}, moved(t, d.sheet, 3*time.Second)
		},
		"launches 3 s earlier": func(string) ([]string, string) {
			return []string{d.inputs[0].Path, d.inputs[1].Path}, moved(t, d.sheet, -3*time.Second)
		},
	} {
		t.Run(name, func(t *testing.T) {
			paths, text := change(t.TempDir())
			var in []session.Input
			for _, p := range paths {
				in = append(in, session.Input{Path: p})
			}
			got := said(d.run(t, &text, in...))
			for _, want := range d.outcome {
				if !slices.Contains(got, want) {
					t.Errorf("%q is not in %q", want, got)
				}
			}
			for _, s := range got {
				if !slices.Contains(d.outcome, s) && (strings.Contains(s, "gust") || strings.Contains(s, "calm") || strings.Contains(s, "full")) {
					t.Errorf("%q was never said", s)
				}
			}
		})
	}
}

var launchIs = regexp.MustCompile(`launch = (\S+)`)

// moved is a sheet with its launches moved.
func moved(t *testing.T, text string, by time.Duration) string {
	n := 0
	out := launchIs.ReplaceAllStringFunc(text, func(s string) string {
		at, err := time.Parse(time.RFC3339Nano, strings.TrimPrefix(s, "launch = "))
		if err != nil {
			t.Fatal(err)
		}
		n++
		return "launch = " + at.Add(by).Format(time.RFC3339Nano)
	})
	if n != 4 {
		t.Fatalf("%d launches", n)
	}
	return out
}

func mustReadAll(t *testing.T, path string) []byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// However often a drive was recorded, converted and copied, it counts once.
func TestOneDriveCountsOnce(t *testing.T) {
	if testing.Short() {
		t.Skip("times many starts: left out of the short tests")
	}
	d := newDay(t)
	full := mustReadAll(t, d.inputs[1].Path)
	converted := func(path string, speed bool) []byte {
		lf, err := format.Open(context.Background(), path, format.Options{})
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := synth.WriteGPX(&b, lf.Recording); err != nil {
			t.Fatal(err)
		}
		if speed {
			return b.Bytes()
		}
		return regexp.MustCompile(`<extensions>.*?</extensions>`).ReplaceAll(b.Bytes(), nil)
	}
	late := *d.drives["full"] // by a clock that is 0.4 s fast
	late.Scenario.Begin = late.Scenario.Begin.Add(400 * time.Millisecond)
	coarse := usual
	coarse.Rate, coarse.Noise = 5, 0.1
	second := usual
	second.Rate = 1
	for name, c := range map[string]struct {
		file string
		data []byte
		same bool // the bytes are those of a log that is there
	}{
		"a copy":                        {"copy.nmea", full, true},
		"a packed copy":                 {"copy.nmea.gz", zipped(t, full), true},
		"its beginning":                 {"begin.nmea", full[:bytes.LastIndexByte(full[:len(full)*3/4], '\n')+1], true},
		"a conversion":                  {"full.gpx", converted(d.inputs[1].Path, true), false},
		"a conversion without speed":    {"bare.gpx", converted(d.inputs[1].Path, false), false},
		"another recorder":              {"other.nmea", nmea(t, d.drives["full"], coarse, 5), false},
		"another one with a fast clock": {"late.nmea", nmea(t, &late, usual, 6), false},
		"one of a fix a second":         {"slow.nmea", nmea(t, d.drives["full"], second, 7), false},
	} {
		t.Run(name, func(t *testing.T) {
			more := session.Input{Path: put(t, filepath.Join(t.TempDir(), c.file), c.data)}
			plain := []session.Input{{Path: d.inputs[0].Path, Mode: "calm"}, {Path: d.inputs[1].Path, Mode: "full"}}
			for _, in := range [][]session.Input{append(slices.Clone(plain), more), append([]session.Input{more}, plain...)} {
				res := d.run(t, nil, in...)
				if got := counted(res); got != "calm 2 full 2 " {
					t.Errorf("counted %s%q", got, res.Warnings)
				}
				witnesses := 0
				for _, r := range res.Runs {
					if r.WitnessOf != nil {
						witnesses++
						if r.Counted || len(r.Partings()) == 0 || r.WitnessOf.WitnessOf != nil {
							t.Errorf("%s: counted %v, partings %v", r.ID, r.Counted, r.Partings())
						}
					}
				}
				if c.same != (len(res.Copies) == 1) || c.same == (witnesses == 2) {
					t.Errorf("%d copies, %d witnesses", len(res.Copies), witnesses)
				}
				if len(res.Warnings) == 0 {
					t.Error("nothing is said of it")
				}
			}
			// Nor does it move what the sheet says.
			more.Mode = ""
			if got := said(d.run(t, &d.sheet, append(slices.Clone(d.inputs), more)...)); !slices.Equal(got, d.outcome) {
				t.Errorf("%q, want %q", got, d.outcome)
			}
		})
	}
}

// Two vehicles that start side by side are two.
func TestTwoVehiclesSideBySideAreTwo(t *testing.T) {
	if testing.Short() {
		t.Skip("times many starts: left out of the short tests")
	}
	d := newDay(t)
	for name, v := range map[string]synth.Vehicle{"another mode": synth.Van("full"), "an equal": synth.Van("calm"), "a stronger": synth.Electric()} {
		t.Run(name, func(t *testing.T) {
			s, its := drove(t, 400, morning, v), d.drives["calm"]
			s.Scenario.Begin = s.Scenario.Begin.Add(its.LaunchTime(its.Runs[0]).Sub(s.LaunchTime(s.Runs[0]))) // as at a light
			path := put(t, filepath.Join(t.TempDir(), "beside.nmea"), nmea(t, s, usual, 8))
			res := d.run(t, nil, session.Input{Path: d.inputs[0].Path, Mode: "calm"}, session.Input{Path: path, Mode: "calm"})
			if got := counted(res); got != "calm 4 " {
				t.Errorf("counted %s%q", got, res.Warnings)
			}
		})
	}
}

// A sheet joins logs that cannot be joined by their clocks, and keeps apart what could.
func TestASheetJoinsAndSeparates(t *testing.T) {
	d := newDay(t)
	dir := t.TempDir()
	undated := bytes.NewBufferString("Time (s),Speed (m/s)\n")
	tr := d.drives["full"].Recording(usual, nil, 5).Primary()
	for i := range tr.Len() {
		fix := tr.At(i)
		fmt.Fprintf(undated, "%.3f,%.4f\n", 0.1*float64(i), fix.Q[recording.Speed])
	}
	elapsed := put(t, dir+"/second.csv", undated.Bytes())
	other := put(t, dir+"/beside.nmea", nmea(t, d.drives["full"], usual, 6))
	full := []session.Input{{Path: d.inputs[1].Path, Mode: "full"}}
	for name, c := range map[string]struct {
		path, sheet string
		counted     string
	}{
		"undated":           {elapsed, "title = \"\"\n", "full 4 "},
		"undated, joined":   {elapsed, "[[log]]\nname = \"full\"\n[[log]]\nname = \"second\"\nwitness_of = \"full\"\n", "full 2 "},
		"dated":             {other, "title = \"\"\n", "full 2 "},
		"dated, separate":   {other, "[[log]]\nname = \"beside\"\nseparate = true\n", "full 4 "},
		"dated, the better": {other, "[[log]]\nname = \"full\"\nwitness_of = \"beside\"\n[[log]]\nname = \"beside\"\n", "full 2 "},
	} {
		res := d.run(t, &c.sheet, append(slices.Clone(full), session.Input{Path: c.path, Mode: "full"})...)
		if got := counted(res); got != c.counted {
			t.Errorf("%s: counted %s, want %s; %q", name, got, c.counted, res.Warnings)
		}
		if name == "dated, the better" && (res.Runs[0].Log.Name != "beside" || res.Runs[0].WitnessOf != nil) {
			t.Errorf("%s: %s is first, witness of %v", name, res.Runs[0].ID, res.Runs[0].WitnessOf)
		}
	}
}
