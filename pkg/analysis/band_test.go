package analysis_test

import (
	"context"
	"flag"
	"math"
	"testing"

	"fromrest/pkg/analysis"
)

var lossSessions = flag.Int("loss.sessions", 0, "sessions for the loss alone, 0 for the usual few")

// The driveline loss of one of two modes is recovered within its interval.
func TestLossIsRecovered(t *testing.T) {
	sessions := 4
	if *full {
		sessions = 500
	}
	if *lossSessions > 0 {
		sessions = *lossSessions
	}
	var n, in, gearIn, gearN, points, pointsIn float64
	var mean, u float64
	for i := range sessions {
		grade := 0.01
		if i%2 == 1 {
			grade = -0.01
		}
		res, sh := explained(t, uint64(i), grade, 4)
		cs, _ := analysis.ConditionsOf(res, sh)
		tr := analysis.TraceOf(context.Background(), res, cs, sh)
		if len(tr.Bands) != 1 {
			t.Fatalf("%d bands of two modes", len(tr.Bands))
		}
		b := tr.Bands[0]
		want, ratio := 100*(1-1/0.97), 100*(1/0.97-1)
		if b.A == "four" {
			want, ratio = 3, -3
		}
		n++
		mean += (b.Loss.X - want) / float64(sessions)
		u += b.Loss.U / float64(sessions)
		if math.Abs(b.Loss.X-want) <= b.Loss.U95() {
			in++
		}
		if b.LossBasis != analysis.Assumed || b.LossHow == "" {
			t.Errorf("loss %q by %q: the sheet does not say what power the modes have", b.LossBasis, b.LossHow)
		}
		if !math.IsNaN(b.Gearing.X) {
			gearN++
			if math.Abs(b.Gearing.X) <= b.Gearing.U95() {
				gearIn++
			}
		}
		for _, q := range b.Points {
			points++
			if math.Abs(q.Percent.X-ratio) <= q.Percent.U95() {
				pointsIn++
			}
		}
	}
	t.Logf("loss: %.1f %% of %.0f in their interval, mean error %.2f, mean u %.2f points; gearing: %.1f %% of %.0f; band: %.1f %% of %.0f points",
		100*in/n, n, mean, u, 100*gearIn/gearN, gearN, 100*pointsIn/points, points)
	if in < 0.7*n || math.Abs(mean) > 0.8 {
		t.Errorf("loss: %.0f of %.0f in their interval, mean error %.2f points", in, n, mean)
	}
	if sessions == 500 && (in < 0.93*n || in > 0.97*n) {
		t.Errorf("loss: %.1f %% of %.0f in their interval, want 93 to 97 %%", 100*in/n, n)
	}
}
