package unit

import "testing"

// TestConstants holds the exact definitions to the values of GNU Units 2.22, run
// locally, which are those of NIST SP 811.
func TestConstants(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
	}{{"foot", Foot, 0.3048}, {"mile", Mile, 1609.344}, {"mph", MPH, 0.44704}, {"standard gravity", GravityStandard, 9.80665},
		{"pound", Pound, 0.45359237}, {"60 mph", 60 * MPH, 26.8224}, {"quarter mile", Mile / 4, 402.336},
		{"1320 ft", 1320 * Foot, 402.336}, {"trap", TrapLength, 20.1168}, {"metric horsepower", MetricHorsepower, 735.49875}} {
		if c.got != c.want {
			t.Errorf("%s is %.17g, want %.17g", c.name, c.got, c.want)
		}
	}
}
