package session

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/sheet"
)

// sessionOf makes a result of runs "mode heading seconds", two minutes apart.
func sessionOf(specs ...string) *Result {
	l := &Log{Path: "logs/day.nmea", Name: "day", Clock: "utc"}
	res := &Result{Logs: []*Log{l}, Settings: Settings{Units: "mph", Targets: []string{"0-30 mph", "0-60 mph"}}}
	for i, s := range specs {
		var mode string
		var heading, seconds float64
		if _, err := fmt.Sscan(s, &mode, &heading, &seconds); err != nil {
			panic(err)
		}
		if mode == "-" {
			mode = ""
		}
		res.Runs = append(res.Runs, &TimedRun{ID: fmt.Sprintf("day#%d", i+1), Log: l, Mode: mode, Kind: segment.StandingStart,
			Launch: time.Date(2026, 6, 14, 10, 2*i, 0, 0, time.UTC), HeadingDeg: heading, Counted: true,
			Times: []timing.Time{{Name: "0-30 mph", From: timing.FromRest, Seconds: seconds, U95: .06, Common: .01},
				{Name: "0-30 mph", From: timing.FromRollout, Seconds: seconds - .3, U95: .012}}})
	}
	return res
}

func TestCompareJoinsRunsOfModes(t *testing.T) {
	res := sessionOf("eco 90 3.50", "sport 270 3.25", "sport 90 3.20", "eco 270 3.56", "eco 90 3.52", "sport 270 3.24", "sport 90 3.19", "eco 270 3.55")
	res.Runs[4].Times[0].Doubt = segment.FlagLift
	res.compared = &comparison{opts: CompareOptions{Final: true, Target: "0-30 mph"}}
	c, err := res.Compare(nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Targets) != 2 || c.Targets[0].From != "rest" || c.Targets[1].From != "rollout" {
		t.Fatalf("targets: %d", len(c.Targets))
	}
	rest, roll := c.Targets[0], c.Targets[1]
	if rest.Modes[0].N != 3 || roll.Modes[0].N != 4 {
		t.Errorf("a time in doubt must not count: %d, %d", rest.Modes[0].N, roll.Modes[0].N)
	}
	if p := roll.Pairs[0]; p.A != "eco" || p.Verdict != compare.BQuicker || math.Abs(p.Difference-.3125) > .02 || len(p.Confounded) != 0 {
		t.Errorf("%s: %+v", p.Sentence, p)
	}
	// What the runs of a mode share is a part of the uncertainty of each.
	if r := rest.Runs[0]; math.Abs(math.Hypot(r.U, r.Shared)-.06/1.96) > 1e-4 || r.Shared != .01 {
		t.Errorf("from rest: u %g shared %g", r.U, r.Shared)
	}
	if r := roll.Runs[0]; r.Shared != 0 || r.Block != 0 || r.Order != 1 {
		t.Errorf("with rollout: %+v", r)
	}
}

func TestCompareWithoutModes(t *testing.T) {
	if _, err := sessionOf("- 90 3.5", "- 90 3.4").Compare(nil); err == nil || !strings.Contains(err.Error(), "one mode") {
		t.Errorf("one log without modes: %v", err)
	}
	res := sessionOf("- 90 3.5", "- 90 3.4", "- 270 3.2", "- 90 3.3")
	other := *res.Logs[0]
	other.Name = "evening"
	res.Logs = append(res.Logs, &other)
	res.Runs[2].Log, res.Runs[3].Log = &other, &other
	c, err := res.Compare(nil)
	if err != nil {
		t.Fatal(err)
	}
	if c.Targets[0].Modes[1].Name != "evening" || len(c.Warnings) != 1 || !strings.Contains(c.Warnings[0], "each log stands for a mode") {
		t.Errorf("%q %+v", c.Warnings, c.Targets[0].Modes)
	}
	res.Runs[0].Mode, res.Runs[2].Mode = "a", "b"
	some := Merge(Options{}, res)
	if c, err = some.Compare(nil); err != nil || len(c.Warnings) != 0 || !slices.Contains(some.Warnings, "2 runs without a mode are in no mean.") {
		t.Errorf("%v %v %q", c, err, some.Warnings)
	}
	g := some.Groups()
	if len(g) != 3 || g[2].Name != "" || len(g[2].Runs) != 2 || some.Means(g, "0-30 mph", timing.FromRest)[2].N != 0 {
		t.Errorf("groups %+v", g)
	}
}

func TestSheetSaysWhatWasDriven(t *testing.T) {
	res := sessionOf("- 90 3.5", "- 270 3.4", "- 90 3.2", "- 270 3.3")
	res.Runs[3].Counted, res.Runs[3].Excluded = false, "the driver lifted"
	res.Logs[0].Marks = []recording.Mark{{Time: time.Date(2026, 6, 14, 10, 3, 0, 0, time.UTC), Kind: "lap", Text: "sport"}}
	sh, err := sheet.Parse(`
[[mode]]
name = "sport"
marks = ["sport"]
[[mode]]
name = "eco"
order = ["1-2"]
[[run]]
id = "day#2"
exclude = "gust"
[[run]]
id = "day#4"
keep = true
`, "s.toml")
	if err != nil {
		t.Fatal(err)
	}
	if res = Merge(Options{Sheet: sh}, res); res.SheetError != nil {
		t.Fatal(res.SheetError)
	}
	got := ""
	for _, r := range res.Runs {
		got += fmt.Sprintf("%s %v %q; ", r.Mode, r.Counted, r.Excluded)
	}
	if want := `eco true ""; eco false "gust"; sport true ""; sport true ""; `; got != want {
		t.Errorf("got %s\nwant %s", got, want)
	}
	if res.Sheet != sh || res.Logs[0].Mode != "" {
		t.Errorf("sheet %v, log's mode %q", res.Sheet, res.Logs[0].Mode)
	}
	c, err := res.Compare(nil)
	if err != nil {
		t.Fatal(err)
	}
	if p := c.Targets[0].Pairs[0]; p.A != "sport" { // the order of the sheet
		t.Errorf("first mode %s", p.A)
	}
	// Beside a mistake the rest holds.
	bad, _ := sheet.Parse("[[run]]\nid = \"day#1\"\nmode = \"x\"\n[[run]]\nid = \"day#9\"\n", "s.toml")
	if res = Merge(Options{Sheet: bad}, res); res.SheetError == nil || res.Runs[0].Mode != "x" || res.SheetError.Error() != `s.toml: line 4: run "day#9" does not exist; the logs have day#1, day#2, day#3, day#4` {
		t.Errorf("%v, mode %q", res.SheetError, res.Runs[0].Mode)
	}
}

// A run that is kept counts everywhere, also at a target that a flag of it touches;
// what cannot be kept whole is refused.
func TestKeepIsWholeOrRefused(t *testing.T) {
	res := sessionOf("eco 90 3.5", "eco 270 3.4", "sport 90 3.2", "sport 270 3.3")
	res.Runs[1].Counted, res.Runs[1].Excluded = false, "the driver lifted"
	res.Runs[1].Times[0].Doubt, res.Runs[1].Times[1].Doubt = segment.FlagLift, segment.FlagLift
	pull := *res.Runs[0]
	pull.ID, pull.Kind, pull.Launch = "day#p1", segment.Rolling, pull.Launch.Add(time.Hour)
	res.Runs = append(res.Runs, &pull)
	keep := func(id string) *Result {
		sh, err := sheet.Parse("[[run]]\nid = \""+id+"\"\nkeep = true\n", "s.toml")
		if err != nil {
			t.Fatal(err)
		}
		return Merge(Options{Sheet: sh}, res)
	}
	kept := keep("day#2")
	for _, from := range []timing.Origin{timing.FromRest, timing.FromRollout} {
		if at := kept.At("0-30 mph", from); at.Modes[0].N != 2 {
			t.Errorf("%s: %d runs of eco count", from, at.Modes[0].N)
		}
	}
	if m := kept.Means(kept.Groups(), "0-30 mph", timing.FromRest); kept.SheetError != nil || m[0].N != 2 || !kept.Runs[1].Counted {
		t.Errorf("%v %+v", kept.SheetError, m)
	}
	if bad := keep("day#p1"); bad.SheetError == nil || !strings.Contains(bad.SheetError.Error(), `s.toml: line 1: run "day#p1" is no standing start: keep cannot count it`) {
		t.Errorf("%v", bad.SheetError)
	}
}
