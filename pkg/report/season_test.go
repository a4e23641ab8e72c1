package report

import (
	"fmt"
	"strings"
	"testing"

	"fromrest/pkg/diag"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// season is many logs of two modes, each with a run that counts and one that does not.
func season(logs int) *session.Result {
	res := &session.Result{Settings: session.Settings{Version: "1", Units: "mph"}}
	for i := range logs {
		l := &session.Log{Path: fmt.Sprintf("season/log-%d.nmea", i), Name: fmt.Sprintf("log-%d", i), Clock: "utc", Problems: &diag.List{},
			Quality: session.Quality{Rate: 10, SpeedNoise: .05, Source: "gnss"}}
		l.Problems.AddMany(diag.Problem{Kind: "checksum", Effect: diag.Dropped, Line: 3, Text: "the checksum is wrong"}, 2)
		l.Worth = func() session.Judgement {
			return session.Judgement{Advice: []string{fmt.Sprintf("It would be ±0.0%d s.", i)}}
		}
		res.Logs = append(res.Logs, l)
		for n := range 2 {
			r := &session.TimedRun{ID: fmt.Sprintf("%s#%d", l.Name, n+1), Log: l, Mode: []string{"eco", "sport"}[i%2], Kind: segment.StandingStart, Counted: n == 0, HeadingDeg: 90,
				Times: []timing.Time{{Name: "0-60 mph", From: timing.FromRollout, Seconds: 10 + float64(i%2), U95: .05}}}
			if n == 1 {
				r.Excluded = "lift"
				r.Flags = []segment.Flag{{Code: "lift", Text: fmt.Sprintf("no tractive force for 1.%d s", i%10)}}
			}
			res.Runs = append(res.Runs, r)
		}
		res.Warnings = append(res.Warnings, l.Name+" has a gap of 3 s.")
	}
	return res
}

func TestSeasonIsShort(t *testing.T) {
	res := season(120)
	text := render(t, RunsShort, res)
	lines := strings.Split(text, "\n")
	if len(lines) > 150 {
		t.Errorf("%d lines", len(lines))
	}
	head := strings.Join(lines[:12], "\n")
	for _, want := range []string{"120 logs, 240 standing starts; 120 do not count", "0–60 mph", "eco", "60 ", "10.00", "sport", "11.00"} {
		if !strings.Contains(head, want) {
			t.Errorf("no %q on the first screen:\n%s", want, head)
		}
	}
	joined := strings.Join(strings.Fields(text), " ")
	for _, want := range []string{"log-0#2: lift (and 119 more like it)", "log-0#2, lift: no tractive force for 1.0 s (and 119 more like it)",
		"240 records of 120 logs, first season/log-0.nmea, line 3: the checksum is wrong", "log-0 has a gap of 3 s. (and 119 more like it)"} {
		if strings.Count(joined, want) != 1 {
			t.Errorf("%q is not there once:\n%s", want, text)
		}
	}
	check := render(t, CheckShort, res)
	if n := strings.Count(check, "\n"); n > 150 {
		t.Errorf("check has %d lines", n)
	}
	if n := strings.Count(check, "It would be"); n != 1 || !strings.Contains(check, "season/log-119.nmea") {
		t.Errorf("%d advices:\n%s", n, check)
	}
}

// What is not alike stays apart.
func TestGroupedKeepsWhatDiffers(t *testing.T) {
	like := newLikeness(season(2))
	got := like.grouped([]string{"log-0#1 slipped", "log-1#1 lifted", "log-1#2 slipped"})
	if strings.Join(got, "|") != "log-0#1 slipped (and 1 more like it)|log-1#1 lifted" {
		t.Errorf("%q", got)
	}
}
