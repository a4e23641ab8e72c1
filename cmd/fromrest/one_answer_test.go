package main

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"
	"github.com/xuri/excelize/v2"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// quantity is a mean of one mode, or of two the difference.
type quantity struct{ modes, target, from string }

// answer is a value with its half-width, as printed.
type answer struct{ x, half string }

// answers are what an output says.
type answers map[quantity]answer

func (a answers) put(modes, target, from, x, half string) {
	head, _, _ := strings.Cut(from, ", ")
	if from = strings.TrimPrefix(strings.TrimPrefix(head, "with "), "from "); from == "" || from == "run" {
		from, target = "run", strings.TrimSuffix(target, ", g")
	}
	typed := strings.NewReplacer("–", "-", "−", "-") // what is printed has a dash and a minus
	modes, target, x = typed.Replace(modes), typed.Replace(target), typed.Replace(x)
	a[quantity{modes, target, from}] = answer{strings.TrimSpace(x), strings.TrimLeft(strings.TrimSpace(half), "± ")}
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', 6, 64) }

// agrees reports whether an answer is a value with its half-width: as every reader is
// shown it, or to a millionth.
func (a answer) agrees(x, half float64) bool {
	if v, h := uncert.Format(x, half); a == (answer{v, h}) {
		return true
	}
	gotX, errX := strconv.ParseFloat(a.x, 64)
	gotH, errH := strconv.ParseFloat(a.half, 64)
	return errX == nil && errH == nil && math.Abs(gotX-x) < 1.1e-6 && math.Abs(gotH-half) < 1.1e-6
}

// folder is a session: its logs beside its sheet.
type folder struct {
	dir  string
	logs []string // paths
}

func writeDrive(t *testing.T, path string, begin time.Time, seed uint64, mode string, reversed ...bool) {
	t.Helper()
	var ev []synth.Event
	for _, r := range reversed {
		ev = append(ev, synth.Event{Kind: synth.Start, Vehicle: synth.Van(mode), Reverse: r})
	}
	s, err := synth.Scenario{Begin: begin, HeadingDeg: 64, LatDeg: 47, LonDeg: -19, Road: synth.Road{Grade: 0.004},
		Variation: synth.Variation{Power: 0.02, Distance: 430}, Events: ev}.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := synth.WriteNMEA(&b, s.Recording(synth.Receiver{Noise: 0.05, PositionNoise: 0.8}, nil, seed), synth.NMEAOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}

// sessions are the demonstration, one of two days and an unbalanced one.
func sessions(t *testing.T) map[string]folder {
	t.Helper()
	demo := folder{dir: t.TempDir()}
	logs, err := synth.WriteDemo(demo.dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range logs {
		demo.logs = append(demo.logs, filepath.Join(demo.dir, l.Name))
	}
	first := time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC)
	days, some := folder{dir: t.TempDir()}, folder{dir: t.TempDir()}
	for d := range 2 {
		for i, mode := range []string{"calm", "full"} {
			path := filepath.Join(days.dir, fmt.Sprintf("%s-%d.nmea", mode, d+1))
			writeDrive(t, path, first.Add(time.Duration(24*d)*time.Hour+time.Duration(20*((i+d)%2))*time.Minute), uint64(300+10*d+i), mode, false, true)
			days.logs = append(days.logs, path)
		}
	}
	for i, ways := range [][]bool{{false, true, false, false}, {true, true}, {false}} {
		mode := []string{"calm", "plain", "full"}[i]
		path := filepath.Join(some.dir, mode+".nmea")
		writeDrive(t, path, first.Add(time.Duration(20*i)*time.Minute), uint64(400+i), mode, ways...)
		some.logs = append(some.logs, path)
	}
	for _, f := range []folder{days, some} {
		args := []string{"sheet", "-o", filepath.Join(f.dir, folderSheet)}
		for _, l := range f.logs {
			mode, _, _ := strings.Cut(strings.TrimSuffix(filepath.Base(l), ".nmea"), "-")
			args = append(args, mode+"="+l)
		}
		out(t, args...)
	}
	return map[string]folder{"demonstration": demo, "two days": days, "unbalanced": some}
}

func (f folder) args(command ...string) []string { return append(command, f.dir) }

// out is what a command prints.
func out(t *testing.T, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	if code := run(context.Background(), append([]string{"fromrest"}, args...), &stdout, &stderr); code != exitDone {
		t.Fatalf("%q: %d %s", args, code, stderr.String())
	}
	return stdout.String()
}

// TestEveryOutputGivesOneAnswer gathers means, half-widths and differences from all
// outputs: they are those of the session's one result.
func TestEveryOutputGivesOneAnswer(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	for name, f := range sessions(t) {
		t.Run(name, func(t *testing.T) {
			res := f.result(t)
			for face, gather := range map[string]func(*testing.T, folder) answers{
				"table": tableText, "table md": tableMarkdown, "table csv": tableCSV, "table json": tableJSON, "table xlsx": tableXLSX,
				"compare": compareText, "compare md": compareMarkdown, "compare json": compareJSON, "explain json": explainJSON,
				"report": reportHTML, "page": pageAPI, "page export": pageExport, "parquet": parquetSets,
			} {
				got := gather(t, f)
				differences := 0
				for q, a := range got {
					if strings.Contains(q.modes, " - ") {
						differences++
					}
					if x, half, ok := truth(res, q); !ok || !a.agrees(x, half) {
						v, h := uncert.Format(x, half)
						t.Errorf("%s: %s at %s from %s is %s ±%s, the session's is %s ±%s", face, q.modes, q.target, q.from, a.x, a.half, v, h)
					}
				}
				if want := !strings.HasPrefix(face, "table"); len(got) < 4 || want != (differences > 0) {
					t.Errorf("%s: %d answers, %d differences", face, len(got), differences)
				}
			}
		})
	}
}

func (f folder) result(t *testing.T) *session.Result {
	t.Helper()
	sh, err := sheet.Load(filepath.Join(f.dir, folderSheet))
	if err != nil {
		t.Fatal(err)
	}
	var in []session.Input
	for _, l := range f.logs {
		in = append(in, session.Input{Path: l})
	}
	res, err := session.Run(context.Background(), in, session.Options{Sheet: sh})
	if err != nil || res.SheetError != nil || len(res.Failed) > 0 {
		t.Fatal(err, res.SheetError, res.Failed)
	}
	return res
}

// truth is what the result says of a quantity.
func truth(res *session.Result, q quantity) (x, half float64, ok bool) {
	if a, b, two := strings.Cut(q.modes, " - "); two {
		return res.Difference(a, b, q.target, timing.Origin(q.from))
	}
	groups, scale := res.Groups(), 1.0
	means := res.Means(groups, q.target, timing.Origin(q.from))
	if of, per := beside(q); of != nil {
		means, scale = res.MeansOf(groups, of)[0], per
	}
	for i, m := range means {
		if groups[i].Name == q.modes {
			return m.X / scale, m.U95 / scale, m.N > 0
		}
	}
	return 0, 0, false
}

// beside is a quantity that stands beside the times, with its unit in SI; nil for a time.
func beside(q quantity) (of session.Quantity, per float64) {
	switch q.from {
	case "trap speed":
		return session.TrapSpeed(q.target), unit.MPH
	case "speed at the mark":
		return session.EndSpeed(q.target), unit.MPH
	case "rolling acceleration":
		return session.Pull(q.target), 1
	case "run":
		return session.PeakAcceleration, unit.GravityStandard
	}
	return nil, 0
}

// inSection reports whether a line of a table is the heading of a section, with its unit.
func inSection(line string) bool {
	return strings.HasSuffix(line, ", s") || strings.HasSuffix(line, ", mph")
}

var printed = regexp.MustCompile(`(-?[\d.]+) *±([\d.]+)`)

func tableText(t *testing.T, f folder) answers {
	got, section := answers{}, ""
	var modes []string
	for line := range strings.Lines(out(t, f.args("table")...)) {
		line = strings.TrimRight(line, "\n")
		cells := printed.FindAllStringSubmatch(line, -1)
		name, _, _ := strings.Cut(strings.TrimSpace(line), "  ")
		switch {
		case modes == nil:
			modes = strings.Fields(line)
		case len(cells) == len(modes):
			for i, c := range cells {
				got.put(modes[i], name, section, c[1], c[2])
			}
		case inSection(line):
			section = line
		}
	}
	return got
}

func tableMarkdown(t *testing.T, f folder) answers {
	got, section := answers{}, ""
	var modes []string
	for line := range strings.Lines(out(t, f.args("table", "--format", "md")...)) {
		cells := strings.Split(strings.Trim(strings.TrimSpace(line), "|"), "|")
		name := strings.Trim(cells[0], " *")
		switch {
		case modes == nil:
			for _, c := range cells[1:] {
				modes = append(modes, strings.TrimSpace(c))
			}
		case inSection(name):
			section = name
		default:
			for i, c := range cells[1:] {
				if m := printed.FindStringSubmatch(c); m != nil {
					got.put(modes[i], name, section, m[1], m[2])
				}
			}
		}
	}
	return got
}

func tableCSV(t *testing.T, f folder) answers {
	rows, err := csv.NewReader(strings.NewReader(out(t, f.args("table", "--format", "csv")...))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	got := answers{}
	for _, r := range rows[1:] {
		for i := 3; i+1 < len(rows[0]) && i+1 < len(r); i += 2 {
			if r[i+1] != "" && r[2] != "" {
				got.put(rows[0][i], r[1], r[0], r[i], r[i+1])
			}
		}
	}
	return got
}

func tableJSON(t *testing.T, f folder) answers {
	var v struct {
		Columns []struct{ Name string }
		Rows    []struct {
			Section, Name string
			Cells         []struct {
				Value, U95 *float64
			}
		}
	}
	decode(t, []byte(out(t, f.args("table", "--format", "json")...)), &v)
	got := answers{}
	for _, r := range v.Rows {
		for i, c := range r.Cells {
			if c.Value != nil && c.U95 != nil {
				got.put(v.Columns[i].Name, r.Name, r.Section, number(*c.Value), number(*c.U95))
			}
		}
	}
	return got
}

func decode(t *testing.T, b []byte, to any) {
	t.Helper()
	if err := json.Unmarshal(b, to); err != nil {
		t.Fatal(err)
	}
}

func tableXLSX(t *testing.T, f folder) answers {
	path := filepath.Join(t.TempDir(), "t.xlsx")
	out(t, f.args("table", "--format", "xlsx", "-o", path)...)
	book, err := excelize.OpenFile(path)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := book.GetRows("table", excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	got, section := answers{}, ""
	for _, r := range rows[2:] {
		if len(r) == 1 && inSection(r[0]) {
			section = r[0]
		}
		for i := 1; i+1 < len(r); i += 2 {
			if r[i+1] != "" {
				got.put(rows[1][i], r[0], section, r[i], r[i+1])
			}
		}
	}
	return got
}

func parquetSets(t *testing.T, f folder) answers {
	dir := t.TempDir()
	out(t, f.args("runs", "--format", "parquet", "--session", "one", "-o", dir)...)
	type row struct {
		Mode    string   `parquet:"mode"`
		A       string   `parquet:"a"`
		B       string   `parquet:"b"`
		Target  string   `parquet:"target"`
		From    string   `parquet:"from"`
		Seconds *float64 `parquet:"seconds,optional"`
		U95     *float64 `parquet:"u95_s,optional"`
	}
	got := answers{}
	for _, set := range []string{"means", "differences"} {
		rows, err := parquet.ReadFile[row](filepath.Join(dir, set, "session=one", "part-0.parquet"))
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range rows {
			modes := r.Mode
			if r.A != "" {
				modes = r.A + " - " + r.B
			}
			if r.Seconds != nil && r.U95 != nil {
				got.put(modes, r.Target, r.From, number(*r.Seconds), number(*r.U95))
			}
		}
	}
	return got
}
