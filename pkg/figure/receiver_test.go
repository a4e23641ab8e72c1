package figure

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"fromrest/pkg/session"
)

// closeUp is a log with speeds off the estimate and two stops.
func closeUp() *session.Log {
	p := &session.Portrait{Starts: 2, Scatter: 0.05}
	for i := range 300 {
		p.OffV, p.Off = append(p.OffV, float64(i)/10), append(p.Off, 0.05*math.Sin(float64(7*i)))
	}
	p.N = len(p.Off)
	for k := range 2 {
		var s session.StopTail
		for i := -15; i <= 15; i++ {
			s.T, s.V = append(s.T, float64(i)/10), append(s.V, math.Max(0, -(4+float64(k))*float64(i)/10)+0.3)
		}
		p.Stops = append(p.Stops, s)
	}
	return &session.Log{Name: "close", Portrait: p}
}

// A log at close quarters is drawn with both parts, or with the one that it has, the same each
// time; one that shows nothing is not drawn.
func TestReceiver(t *testing.T) {
	l := closeUp()
	svg := Receiver(l, Options{}).SVG()
	if !bytes.Equal(svg, Receiver(l, Options{}).SVG()) {
		t.Error("two figures of one log differ")
	}
	for _, want := range []string{"close: the receiver at close quarters", "speed less the estimate, mph", "time since the last speed that moves, s", "300 speeds of 2 starts scatter by 0.050 m/s"} {
		if !strings.Contains(string(svg), want) {
			t.Errorf("no %q", want)
		}
	}
	metric := string(Receiver(l, Options{Units: "kmh"}).SVG())
	if !strings.Contains(metric, "speed at stops, km/h") {
		t.Error("no km/h")
	}
	whole := Receiver(l, Options{}).Size.H
	l.Portrait.Stops = nil
	if f := Receiver(l, Options{}); f.Size.H >= whole || strings.Contains(string(f.SVG()), "stops, mph") {
		t.Errorf("without stops %v high, with %v", f.Size.H, whole)
	}
	l.Portrait.Off = nil
	if Receiver(l, Options{}) != nil || Receiver(&session.Log{}, Options{}) != nil {
		t.Error("nothing is drawn")
	}
}
