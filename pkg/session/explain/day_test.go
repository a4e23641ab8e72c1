package explain

import (
	"math"
	"testing"
	"time"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// Wind that was read at several times is that of each run's launch, and what the instruments are
// good for is what is said of the air.
func TestWindAndReadingsOfTheDay(t *testing.T) {
	sh, err := sheet.Parse(`[vehicle]
mass_kg = 2000
[conditions]
temperature_c = 20
pressure_hpa = 1013.25
humidity_percent = 50
temperature_u95_c = 0.4
pressure_u95_hpa = 0.4
humidity_u95_percent = 2
[[wind]]
at = "09:00"
mps = 2.0
from_deg = 64
u95_mps = 0.2
[[wind]]
at = "10:00"
mps = 6.0
from_deg = 64
u95_mps = 0.2
`, "s.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		minute  int
		x, most float64
	}{{0, 2, .2}, {60, 6, .2}, {30, 4, 4.2}, {90, 6, .2}} {
		r := &session.TimedRun{HeadingDeg: 64, Launch: time.Date(2026, 5, 9, 9, c.minute, 0, 0, time.UTC)}
		got := RunConditions{Run: r}
		got.fromSheet(sh)
		if math.Abs(got.HeadWind.X-c.x) > 1e-9 || got.HeadWind.U95() > c.most || !(got.HeadWind.U > 0) {
			t.Errorf("%d min: head wind %.2f ±%.2f m/s, want %g ±%g", c.minute, got.HeadWind.X, got.HeadWind.U95(), c.x, c.most)
		}
	}
	narrow := AirOf(sh)
	sh.Conditions.TemperatureU95, sh.Conditions.PressureU95, sh.Conditions.HumidityU95 = nil, nil, nil
	usual := AirOf(sh)
	if narrow.Altitude.X != usual.Altitude.X || narrow.Altitude.U > usual.Altitude.U/3 || !(narrow.Altitude.U > 0) {
		t.Errorf("density altitude %.0f ±%.0f m with good instruments, %.0f ±%.0f m with usual ones", narrow.Altitude.X, narrow.Altitude.U95(), usual.Altitude.X, usual.Altitude.U95())
	}
}
