package explain_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
)

// coastLog is a log at 10 Hz of a vehicle that accelerates from rest, coasts down
// with a rolling resistance and a drag (½ρCdA/m in 1/m) and stops.
func coastLog(rng *rand.Rand, roll, drag, grade, noise float64) string {
	var b strings.Builder
	b.WriteString("time (s),speed (m/s)\n")
	n, t := 0, 0.0
	row := func(v float64) {
		t = float64(n) / 10
		n++
		fmt.Fprintf(&b, "%.1f,%.3f\n", t, math.Max(0, v+noise*rng.NormFloat64()))
	}
	for range 50 {
		fmt.Fprintf(&b, "%.1f,0.000\n", float64(n)/10)
		n++
	}
	v := 0.0
	for ; v < 32; v += 0.3 {
		row(v)
	}
	for ; v > 6; v -= 0.1 * (unit.GravityStandard*(roll+grade) + drag*v*v) / 1.035 {
		row(v)
	}
	for ; v > 0; v -= 0.5 {
		row(v)
	}
	for range 50 {
		row(0)
	}
	return b.String()
}

func analyseText(t *testing.T, name, text string) *session.Result {
	t.Helper()
	res, err := session.Run(context.Background(), []session.Input{{Path: name,
		Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader([]byte(text))), nil }}}, session.Options{})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(err, res.Failed)
	}
	return res
}

// A coast-down in the log gives rolling resistance and drag within their intervals.
func TestCoastDownInALog(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	n, inRoll, inDrag := 12, 0, 0
	for i := range n {
		roll, drag := 0.010+0.004*rng.Float64(), (3+2*rng.Float64())*1e-4
		sh := &sheet.Sheet{Vehicle: sheet.Vehicle{Mass: 2000}}
		l := explain.RoadLoadOf(analyseText(t, "coast.csv", coastLog(rng, roll, drag, 0.003*rng.NormFloat64(), 0.05)), sh)
		if l.RollingBasis != explain.Modelled || l.DragBasis != explain.Modelled {
			t.Errorf("%d: no coast-down was used: %q", i, l.Coasts)
			continue
		}
		if math.Abs(l.Rolling.X-roll) <= l.Rolling.U95() {
			inRoll++
		}
		if math.Abs(l.Drag.X-drag) <= l.Drag.U95() {
			inDrag++
		}
		if want := 2000 * drag / (0.5 * 1.225); math.Abs(l.DragArea.X-want) > 0.3*want {
			t.Errorf("drag area %.3f m², want %.3f", l.DragArea.X, want)
		}
	}
	if inRoll < n-2 || inDrag < n-2 {
		t.Errorf("in their interval: rolling resistance %d, drag %d of %d", inRoll, inDrag, n)
	}
}

// Slowing in gear or by a light foot on the brake is no coast-down.
func TestEngineBrakingIsNoCoastDown(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 6))
	res := analyseText(t, "coast.csv", coastLog(rng, 0.06, 4e-4, 0, 0.05))
	l := explain.RoadLoadOf(res, &sheet.Sheet{})
	if l.RollingBasis != explain.Assumed {
		t.Errorf("used: %q, rolling resistance %.3f", l.Coasts, l.Rolling.X)
	}
	if l.DragArea.X == l.DragArea.X {
		t.Error("a drag area without a mass")
	}
}
