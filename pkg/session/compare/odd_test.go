package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fromrest/pkg/session/compare/contrast"
)

// Whatever was driven, a comparison has no panic, says of every pair what it found, and
// calls no two modes of the same times different.
func TestOddSessions(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for i := range 300 {
		var rs []Run
		modes, block := 1+rng.IntN(6), 0
		headings := [][]float64{{64, 244}, {64}, {math.NaN()}, {0, 120, 240}, {64, 244, math.NaN()}}[rng.IntN(5)]
		same := rng.IntN(4) == 0
		for n := range 1 + rng.IntN(20) {
			if rng.IntN(8) == 0 {
				block++
			}
			r := Run{ID: fmt.Sprint(n), Mode: string(rune('a' + rng.IntN(modes))), Heading: headings[rng.IntN(len(headings))], Order: n + 1, Block: block,
				Seconds: 7 + .1*rng.NormFloat64(), U: .02 * rng.Float64(), Shared: .01 * rng.Float64(), Cost: float64(rng.IntN(3)), Counted: rng.IntN(6) > 0}
			if same {
				r.Seconds, r.U, r.Shared = 7, 0, 0
			}
			if rng.IntN(2) == 0 {
				r.Noted = map[string]float64{"fuel": float64(rng.IntN(3))}
			}
			rs = append(rs, r)
		}
		o := Options{Plan: contrast.Plan{Runs: rng.IntN(4), Final: rng.IntN(2) == 0}, Smallest: float64(rng.IntN(2)) * .1}
		if rng.IntN(3) == 0 {
			o.Past = func(string, string) *Scatter {
				return &Scatter{SD: .1, DF: 1 + 10*rng.Float64(), Same: rng.IntN(2) == 0, From: "a past session"}
			}
		}
		out, err := Session([]Place{{"0-60 mph", "rollout", rs}, {"0-60 mph", "rest", rs}}, o)
		if err != nil {
			t.Fatalf("session %d: %v", i, err)
		}
		for _, tg := range out {
			if tg == nil {
				continue
			}
			tg.SecondTests()
			for _, p := range tg.Pairs {
				if p.Verdict == "" || tg.Primary && (p.Sentence == "" || p.State == "") || math.IsNaN(p.Difference) || !math.IsNaN(p.SE) && !(p.Half() >= 0) {
					t.Fatalf("session %d: %+v", i, p)
				}
				if same && (p.Verdict == AQuicker || p.Verdict == BQuicker) {
					t.Fatalf("session %d: %s", i, p.Sentence)
				}
			}
		}
	}
}
