package worlds

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/session"
	"fromrest/pkg/session/outside"
	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
)

// gates is a pair of light gates beside the course of a world: the way that the vehicle
// has covered when the first is triggered, and by how much less than the course it covers
// until the second is.
type gates struct{ start, short float64 } // m

// over is what the gates show of a start over a distance, in s.
func (g gates) over(m *Motion, s *Start, distance float64) float64 {
	return m.passed(s, g.start+distance-g.short) - m.passed(s, g.start)
}

// passed is when a start had covered a way, in s.
func (m *Motion) passed(s *Start, way float64) float64 {
	first := int(math.Round(s.Launch / tick))
	at := m.S[first] + way
	i := first + slices.IndexFunc(m.S[first:], func(x float64) bool { return x >= at })
	return tick * (float64(i) - (m.S[i]-at)/(m.S[i]-m.S[i-1]))
}

// gated drives a world and analyses its log beside the times of gates, stated to be of
// an origin.
func gated(t *testing.T, w World, seed uint64, g gates, origin string) *session.Result {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 3))
	m := w.Drive(rng)
	begin := time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC)
	log := w.Receiver.Observe(m, begin, rng)
	in := []session.Input{{Path: "world.nmea", Mode: "m", Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(log)), nil }}}
	res, err := session.Run(context.Background(), in, session.Options{NoTraces: true})
	if err != nil {
		t.Fatal(err)
	}
	var text strings.Builder
	for i := range m.Starts {
		s := &m.Starts[i]
		for _, r := range res.StandingStarts() {
			if math.Abs(r.Launch.Sub(begin).Seconds()-s.Launch) > 2 {
				continue
			}
			for name, d := range map[string]float64{ // m
				"60 ft": 60 * unit.Foot, "1/4 mile": quarter} {
				if _, ok := s.Rollout["1/4 mile"]; ok {
					fmt.Fprintf(&text, "[[witness]]\nrun = %q\ntarget = %q\nseconds = %.3f\nu95_s = 0.004\norigin = %q\n", r.ID, name, g.over(m, s, d)+0.002*rng.NormFloat64(), origin)
				}
			}
		}
	}
	sh, err := sheet.Parse(text.String(), "gates.toml")
	if err != nil {
		t.Fatal(err)
	}
	res, err = session.Run(context.Background(), in, session.Options{NoTraces: true, Sheet: sh})
	if err != nil || res.SheetError != nil {
		t.Fatal(err, res.SheetError)
	}
	return res
}

// Where the clock of simulated gates starts is found from the times of one session, and an
// origin that was mis-stated is named.
func TestGates(t *testing.T) {
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
	w := World{Vehicle: car, Foot: quickFoot, Stopping: Firm, Receiver: plain(10, 0.05)}
	for _, c := range []struct {
		name, stated string
		gates
		named outside.Origin // among those that it may be instead, "" where the stated one stands
	}{
		{"the first foot", "rollout", gates{unit.Rollout, 0}, ""},
		{"first motion", "rest", gates{0, 0}, ""},
		{"a tyre's beam", "tyre", gates{0.26, 0.9}, ""},
		{"a beam that the bumper cuts", "bumper", gates{0.42, 0}, ""},
		{"a beam at the axle", "axle", gates{0.6, 0.5}, ""},
		{"the first foot, stated as first motion", "rest", gates{unit.Rollout, 0}, outside.Rollout},
		{"first motion, stated as the first foot", "rollout", gates{0, 0}, outside.Rest},
		{"a tyre's beam, stated as first motion", "rest", gates{0.26, 0.9}, outside.Tyre},
		{"a tyre's beam, stated as the first foot", "rollout", gates{0.28, 0.9}, outside.Tyre},
		{"a beam at the axle, stated as a tyre's", "tyre", gates{0.62, 0.5}, outside.Axle},
	} {
		wrong, held, n := 0, 0, 0
		const sessions = 2
		for seed := range uint64(sessions) {
			all := gated(t, w, 40+seed, c.gates, c.stated).OutsideClocks()
			if len(all) != 1 || all[0].N < 8 {
				t.Fatalf("%s: %d clocks: %+v", c.name, len(all), all)
			}
			v := all[0].Verdict
			n, held = n+v.N, held+v.Held
			if c.named == "" && len(v.Instead) > 0 || c.named != "" && !slices.Contains(v.Instead, c.named) || v.Unfit {
				wrong++
			}
			t.Logf("%s: started after %.3f ± %.3f m (%.2f), %d of %d agree, bias %.0f ± %.0f ms, instead %v, unfit %v", c.name, v.Started.X, v.Started.U95(), c.start, v.Held, v.N, 1e3*v.Bias.X, 1e3*v.Bias.U95(), v.Instead, v.Unfit)
			if d := math.Abs(v.Started.X - c.start); d > max(0.02, 1.5*v.Started.U95()) {
				t.Errorf("%s: started after %.3f ± %.3f m, truly %.3f", c.name, v.Started.X, v.Started.U95(), c.start)
			}
		}
		if wrong > 0 {
			t.Errorf("%s: misjudged in %d of %d sessions", c.name, wrong, sessions)
		}
		if c.named == "" && float64(held) < 0.9*float64(n) {
			t.Errorf("%s: %d of %d agree", c.name, held, n)
		}
	}
}
