package worlds_test

import (
	"bytes"
	"context"
	"flag"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

var verdicts = flag.Int("verdict.sessions", 6, "sessions of each kind whose verdicts are looked at")

// verdictsOf drives a planned session of modes through the whole program, as NMEA text
// with a sheet, on a road that falls, and returns its primary target.
func verdictsOf(t *testing.T, seed uint64, runs int, power ...float64) *compare.Target {
	t.Helper()
	c, err := planned(t, seed, runs, power...)().Compare(nil)
	if err != nil {
		t.Fatal(err)
	}
	return c.Primary
}

// planned simulates a planned session and returns what reads and times it.
func planned(t testing.TB, seed uint64, runs int, power ...float64) func() *session.Result {
	t.Helper()
	p, err := compare.NewPlan(compare.PlanOptions{Modes: strings.Split("a b c d e", " ")[:len(power)], Runs: runs, Seed: seed}, nil)
	if err != nil {
		t.Fatal(err)
	}
	var ev []synth.Event
	var order []string
	for _, r := range p.Runs {
		v := synth.Van("full")
		v.Force, v.Power = v.Force*power[r.Mode[0]-'a'], v.Power*power[r.Mode[0]-'a']
		ev = append(ev, synth.Event{Kind: synth.Start, Vehicle: v, Reverse: r.Way == 2})
		order = append(order, fmt.Sprintf("%q", r.Mode))
	}
	s, err := synth.Scenario{Begin: time.Date(2026, 5, 9, 23, 30, 0, 0, time.UTC), HeadingDeg: 64, LatDeg: 47, LonDeg: -19, Road: synth.Road{Grade: 0.004},
		Variation: synth.Variation{Power: 0.012, Distance: 330}, Events: ev}.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := synth.WriteNMEA(&b, s.Recording(synth.Receiver{Noise: 0.05, PositionNoise: 0.8}, nil, seed), synth.NMEAOptions{}); err != nil {
		t.Fatal(err)
	}
	sh, err := sheet.Parse("[plan]\norder = ["+strings.Join(order, ", ")+"]\n", "session.toml")
	if err != nil {
		t.Fatal(err)
	}
	return func() *session.Result {
		res, err := session.Run(context.Background(), []session.Input{{Path: "day.nmea", Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b.Bytes())), nil }}},
			session.Options{Sheet: sh, NoTraces: true})
		if err != nil || res.SheetError != nil {
			t.Fatal(err, res.SheetError)
		}
		return res
	}
}

// What a comparison of 60 runs of five modes adds to reading and timing them, in one run.
func BenchmarkCompareShare(b *testing.B) {
	read := planned(b, 1, 12, 1, .99, .98, .97, .96)
	var timing, comparing time.Duration
	for b.Loop() {
		begin := time.Now()
		res := read()
		timing += time.Since(begin)
		begin = time.Now()
		if _, err := res.Compare(nil); err != nil {
			b.Fatal(err)
		}
		comparing += time.Since(begin)
	}
	b.ReportMetric(float64(comparing)/float64(timing), "of-reading")
}

// Equal modes, and modes of which one is quicker by three standard errors, from NMEA
// text over midnight to the verdict. With -verdict.sessions=100 the rates mean
// something.
func TestVerdictsFromLogs(t *testing.T) {
	for _, c := range []struct {
		runs  int
		power []float64
	}{{4, []float64{1, 1}}, {4, []float64{1, 1, 1}}, {4, []float64{.9, 1}}, {4, []float64{.97, 1}}} {
		claims, right, undecided := 0, 0, 0
		scatter := 0.0
		for i := range *verdicts {
			p := verdictsOf(t, uint64(1000*c.runs+i), c.runs, c.power...)
			any := false
			for _, pair := range p.Pairs {
				any = any || pair.Verdict == compare.AQuicker || pair.Verdict == compare.BQuicker
			}
			claims += map[bool]int{true: 1}[any]
			if first := p.Pairs[0]; first.Verdict == compare.AQuicker && first.A == "b" || first.Verdict == compare.BQuicker && first.B == "b" {
				right++
			}
			if !p.Over {
				undecided++
			}
			scatter += p.Model.Residual / float64(*verdicts)
			if math.IsNaN(p.Pairs[0].SE) || len(p.Modes) != len(c.power) {
				t.Errorf("%+v", p.Pairs[0])
			}
		}
		t.Logf("%d runs of each, power %v: %d of %d sessions claim a difference, %d that b is quicker; scatter %.3f s; %d not over", c.runs, c.power, claims, *verdicts, right, scatter, undecided)
		equal := c.power[0] == 1
		if equal && float64(claims) > 0.06*float64(*verdicts)+3*math.Sqrt(.06*float64(*verdicts)) || !equal && claims > right+1 || c.power[0] == .9 && right < *verdicts*9/10 {
			t.Errorf("power %v: %d claims, %d right of %d", c.power, claims, right, *verdicts)
		}
		if undecided > *verdicts/3 {
			t.Errorf("power %v: %d sessions are not over", c.power, undecided)
		}
	}
}
