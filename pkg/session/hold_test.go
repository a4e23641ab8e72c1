package session_test

import (
	"strings"
	"testing"

	"fromrest/pkg/recording"
)

// Rounding is no static hold, a wheel speed that shows 0.013 m/s has none, and nobody is
// told to switch one off in a vehicle bus. What each recording shows is in the README
// beside them.
func TestStaticHoldIsNotRounding(t *testing.T) {
	needRealData(t)
	for name, held := range map[string]bool{
		"pairs/munich1-wheel-50hz.csv":                  false,
		"pairs/carlogger-bus-2hz.csv":                   false,
		"nmea/munich-tunnel-1hz.nmea":                   false, // steps of 0.1 kn
		"nmea/reference-bad-rmc-checksums-1hz.nmea":     false,
		"csv/t19_2_launch1_obd_15hz.csv":                true,
		"nmea/corner-gp-320fw-2019-04-06-overflow.nmea": true,
	} {
		l := analyse(t, name).Logs[0]
		if got := l.Quality.StaticHold > 0; got != held {
			t.Errorf("%s: speeds below %.3f m/s are said to be shown as 0, in steps of %.3f", name, l.Quality.StaticHold, l.Quality.SpeedStep)
		}
		if held {
			for _, a := range l.Worth().Advice {
				if l.Quality.Source == recording.Wheel && strings.Contains(a, "static hold") {
					t.Errorf("%s: %s", name, a)
				}
			}
		}
	}
}
