package session

import (
	"math"
	"testing"

	"fromrest/pkg/motion/timing"
)

func TestTimesThatSayTooLittleAreUnknown(t *testing.T) {
	r := &TimedRun{Times: []timing.Time{{Name: "0-10 mph", Seconds: 3, U95: 1.01}, {Name: "0-30 mph", Seconds: 3, U95: 1}}, Pulls: []timing.Time{{Name: "30-50 mph", Seconds: 0.3, U95: 0.2}}}
	r.known()
	if x := r.Times[0]; x.Reason != "its half-width of 1.0 s is over a third of it" || !math.IsNaN(x.Seconds) || !math.IsNaN(x.U95) {
		t.Errorf("%+v", x)
	}
	if x := r.Times[1]; x.Reason != "" || x.Seconds != 3 {
		t.Errorf("%+v", x)
	}
	if r.Pulls[0].Reason == "" {
		t.Errorf("%+v", r.Pulls[0])
	}
}
