package header

import (
	"fmt"
	"math"
	"strings"

	"fromrest/pkg/unit"
)

// Quantity is what a unit measures.
type Quantity int

// The quantities.
const (
	None Quantity = iota
	Duration
	Velocity
	Acceleration
	Length
	Angle
	Other // something not read here: rpm, °C, %
)

// Unit is a unit: its name as printed, its quantity and one of it in SI (s, m/s,
// m/s², m, degrees). The zero Unit is none.
type Unit struct {
	Name string
	Of   Quantity
	SI   float64
}

// fits reports whether a column with the unit may hold one of the quantities,
// which one without a unit may.
func (u Unit) fits(any ...Quantity) bool {
	for _, q := range any {
		if u.Of == q {
			return true
		}
	}
	return u.Of == None
}

// CommonSpeedUnits is how many of SpeedUnits loggers write every day.
const CommonSpeedUnits = 4

// SpeedUnits are tried in this order when a unit must be inferred.
var SpeedUnits = []Unit{
	{"m/s", Velocity, 1}, {"km/h", Velocity, unit.KMH}, {"mph", Velocity, unit.MPH}, {"kn", Velocity, unit.Knot},
	{"cm/s", Velocity, 0.01}, {"mm/s", Velocity, 0.001}, {"ft/s", Velocity, unit.Foot},
}

// spellings are the units with all ways to write each, as unitKey folds them.
var spellings = []struct {
	Unit
	written string
}{
	{SpeedUnits[0], "mps ms-1 m*s-1 mpersec mpers metrespersecond meterspersecond meterpersecond metrepersecond metersec msec-1 metpersec msecond"},
	{SpeedUnits[1], "kmh kph kmph kmhr kmperh kmperhour kmh-1 kilometersperhour kilometresperhour kilometerperhour kmhour kilometershour kmstd"},
	{SpeedUnits[2], "mph mih mileshour milesperhour mileperhour mihr milesh"},
	{SpeedUnits[3], "kn kt kts knot knots nmih nauticalmilesperhour"},
	{SpeedUnits[4], "cmps cms cms-1 cmsec"},
	{SpeedUnits[5], "mmps mms mms-1 mmsec"},
	{SpeedUnits[6], "fts fps ftsec feetpersecond"},
	{Unit{"s", Duration, 1}, "s sec secs second seconds sek sekunden secondes segundos secondi"},
	{Unit{"ms", Duration, 1e-3}, "ms msec msecs milli millis millisec millisecs millisecond milliseconds millisekunden"},
	{Unit{"us", Duration, 1e-6}, "us usec usecs µs micros microsec microsecond microseconds"},
	{Unit{"ns", Duration, 1e-9}, "ns nsec nsecs nanos nanosec nanosecond nanoseconds"},
	{Unit{"min", Duration, 60}, "min mins minute minutes"},
	{Unit{"h", Duration, 3600}, "hours stunden"},
	{Unit{"day", Duration, 86400}, "days serial excel"},
	{Unit{"m/s2", Acceleration, 1}, "ms2 mps2 mpss ms-2 m*s-2 mpers2 mpersec2 mss msec2 mss2 meterspersecondsquared ms**2"},
	{Unit{"g", Acceleration, unit.GravityStandard}, "g gs gforce gn g0"},
	{Unit{"mg", Acceleration, unit.GravityStandard / 1000}, "mg millig milligs"},
	{Unit{"cm/s2", Acceleration, 0.01}, "cms2 gal"},
	{Unit{"ft/s2", Acceleration, unit.Foot}, "fts2 ftss"},
	{Unit{"m", Length, 1}, "m meter meters metre metres mtr"},
	{Unit{"km", Length, 1000}, "km kilometer kilometers kilometres"},
	{Unit{"cm", Length, 0.01}, "cm centimeters"},
	{Unit{"mm", Length, 0.001}, "mm millimeters"},
	{Unit{"ft", Length, unit.Foot}, "ft feet foot"},
	{Unit{"mi", Length, unit.Mile}, "mi mile miles"},
	{Unit{"deg", Angle, 1}, "deg degs degree degrees ° grad degn dege decdeg decimaldegrees degtrue"},
	{Unit{"rad", Angle, 180 / math.Pi}, "rad rads radian radians"},
	{Unit{"deg*1e-7", Angle, 1e-7}, "dege7 dege-7 1e-7deg 1e7 e7 deg1e-7 deg*1e-7 degx1e7 10-7deg"},
	{Unit{"", Other, 0}, "rpm 1min min-1 °c degc °c f °f % pct percent volt volts mv ma hz khz kpa bar mbar hpa psi pa nm kw hp kg l lh gs-1 " +
		"degs rads degsec degpersec dps °s rpms lambda afr db dbm dbhz ut µt ml mgs gsec count counts bool bit hex enum state kgh nmm"},
}

// unitWritten finds a unit by its spelling; of two units spelt alike it has the
// later one.
var unitWritten = func() map[string]Unit {
	m := map[string]Unit{}
	for _, u := range spellings {
		for _, s := range strings.Fields(u.written) {
			m[s] = u.Unit
		}
	}
	return m
}()

var unitSigns = strings.NewReplacer(" ", "", "/", "", ".", "", "·", "", "^", "", "_", "", "(", "", ")", "", "[", "", "]", "",
	"{", "", "}", "", "\u00a0", "", `"`, "", "'", "", ":", "", "²", "2", "⁻", "-", "¹", "1", "μ", "µ")

// unitKey folds the spellings of a unit: lower case without blanks, dots,
// slashes, carets and brackets.
func unitKey(s string) string { return unitSigns.Replace(strings.ToLower(strings.TrimSpace(s))) }

// UnitNamed looks a unit up by any of its spellings; want is the quantity asked
// for, None for any. Where it is Velocity, "ms" is metres per second, since no
// speed is in milliseconds; only where it is Duration, "h" is hours.
func UnitNamed(s string, want Quantity) (Unit, bool) {
	k := unitKey(s)
	switch {
	case k == "ms" && (want == Velocity || want != Duration && strings.ContainsAny(s, "/_")):
		return SpeedUnits[0], true
	case k == "h" && want == Duration:
		return Unit{"h", Duration, 3600}, true
	}
	u, ok := unitWritten[k]
	if !ok || want != None && u.Of != want {
		return Unit{}, false
	}
	return u, true
}

// AreUnits reports whether the cells are a line of units: most of what is not
// empty is a unit, and none is a column's usual name.
func AreUnits(cells []string) bool {
	const longest = 4 // letters of a unit that is not also a word
	full, known, short := 0, 0, 0
	for _, c := range cells {
		c = strings.Trim(c, " -\"")
		if c == "" {
			continue
		}
		full++
		if _, ok := UnitNamed(c, None); ok {
			known++
			if len(unitKey(c)) <= longest {
				short++
			}
		}
	}
	return short >= 1 && known*2 > full
}

// SpeedUnit is the unit of speed that a user names, none for "". The error names those there
// are.
func SpeedUnit(name string) (u Unit, err error) {
	if name == "" {
		return u, nil
	}
	if u, ok := UnitNamed(name, Velocity); ok {
		return u, nil
	}
	return u, fmt.Errorf("%q is no unit of speed; want m/s, km/h, mph, kn, cm/s, mm/s or ft/s", name)
}
