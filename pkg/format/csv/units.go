package csv

import (
	"math"
	"strings"

	"fromrest/pkg/unit"
)

// quantity is what a unit measures.
type quantity int

const (
	noQuantity quantity = iota
	duration
	velocity
	acceleration
	length
	angle
	other // a unit of something not read here: rpm, °C, %
)

// unitDef is a unit: its name as printed, its quantity and one of it in SI (s,
// m/s, m/s², m, degrees).
type unitDef struct {
	name string
	q    quantity
	si   float64
}

// speedUnits are tried in this order when a unit must be inferred.
var speedUnits = []unitDef{
	{"m/s", velocity, 1}, {"km/h", velocity, unit.KMH}, {"mph", velocity, unit.MPH},
	{"kn", velocity, unit.Knot}, {"cm/s", velocity, 0.01}, {"mm/s", velocity, 0.001},
	{"ft/s", velocity, unit.Foot},
}

// unitTable is keyed by the unit in lower case without blanks, dots, slashes,
// carets and brackets.
var unitTable = map[string]unitDef{}

func init() {
	add := func(d unitDef, spellings string) {
		for _, s := range strings.Fields(spellings) {
			unitTable[s] = d
		}
	}
	for _, d := range speedUnits {
		unitTable[unitKey(d.name)] = d
	}
	add(unitDef{"m/s", velocity, 1}, "mps ms-1 m*s-1 mpersec mpers metrespersecond meterspersecond meterpersecond metrepersecond metersec msec-1 metpersec m/sec msecond")
	add(unitDef{"km/h", velocity, unit.KMH}, "kmh kph kmph kmhr kmperh kmperhour kmh-1 kilometersperhour kilometresperhour kilometerperhour kmhour kilometershour kmstd")
	add(unitDef{"mph", velocity, unit.MPH}, "mih mileshour milesperhour mileperhour mihr mi/hr milesh")
	add(unitDef{"kn", velocity, unit.Knot}, "kn kt kts knot knots nmih nauticalmilesperhour")
	add(unitDef{"cm/s", velocity, 0.01}, "cmps cms cms-1 cmsec")
	add(unitDef{"mm/s", velocity, 0.001}, "mmps mms mms-1 mmsec")
	add(unitDef{"ft/s", velocity, unit.Foot}, "fts fps ftsec feetpersecond")
	add(unitDef{"s", duration, 1}, "s sec secs second seconds sek sekunden secondes segundos secondi")
	add(unitDef{"ms", duration, 1e-3}, "ms msec msecs milli millis millisec millisecs millisecond milliseconds millisekunden")
	add(unitDef{"us", duration, 1e-6}, "us usec usecs µs μs micros microsec microsecond microseconds")
	add(unitDef{"ns", duration, 1e-9}, "ns nsec nsecs nanos nanosec nanosecond nanoseconds")
	add(unitDef{"min", duration, 60}, "min mins minute minutes")
	add(unitDef{"h", duration, 3600}, "hours stunden")
	add(unitDef{"day", duration, 86400}, "days serial excel")
	add(unitDef{"m/s2", acceleration, 1}, "ms2 m/s² ms² mps2 mpss ms-2 m*s-2 mpers2 mpersec2 mss msec2 mss2 meterspersecondsquared ms**2")
	add(unitDef{"g", acceleration, unit.GravityStandard}, "g gs gforce gn g0")
	add(unitDef{"mg", acceleration, unit.GravityStandard / 1000}, "mg millig milligs")
	add(unitDef{"cm/s2", acceleration, 0.01}, "cms2 cms² gal")
	add(unitDef{"ft/s2", acceleration, unit.Foot}, "fts2 fts² ftss")
	add(unitDef{"m", length, 1}, "m meter meters metre metres mtr")
	add(unitDef{"km", length, 1000}, "km kilometer kilometers kilometres")
	add(unitDef{"cm", length, 0.01}, "cm centimeters")
	add(unitDef{"mm", length, 0.001}, "mm millimeters")
	add(unitDef{"ft", length, unit.Foot}, "ft feet foot")
	add(unitDef{"mi", length, unit.Mile}, "mi mile miles")
	add(unitDef{"deg", angle, 1}, "deg degs degree degrees ° grad degn dege decdeg decimaldegrees degtrue")
	add(unitDef{"rad", angle, 180 / math.Pi}, "rad rads radian radians")
	add(unitDef{"deg*1e-7", angle, 1e-7}, "dege7 dege-7 1e-7deg 1e7 e7 deg1e-7 deg*1e-7 degx1e7 10-7deg")
	add(unitDef{"", other, 0}, "rpm 1min min-1 °c degc c °f f % pct percent volt volts mv ma hz khz kpa bar mbar hpa psi pa nm kw hp kg l lh gs-1 degs rads degsec degpersec dps °s rpms lambda afr db dbm dbhz ut µt ml mgs gsec count counts bool bit hex enum state kgh nmm")
}

// unitKey folds the spellings of a unit.
func unitKey(s string) string {
	s = strings.ToLower(strings.TrimSpace(s))
	return strings.Map(func(r rune) rune {
		switch r {
		case ' ', '/', '.', '·', '^', '_', '(', ')', '[', ']', '{', '}', '\u00a0', '"', '\'', ':':
			return -1
		case '²':
			return '2'
		case '⁻':
			return '-'
		case '¹':
			return '1'
		case 'μ':
			return 'µ'
		}
		return r
	}, s)
}

// unitNamed looks a unit up by any of its spellings. Where want is velocity,
// "ms" is metres per second, since no speed is in milliseconds.
func unitNamed(s string, want quantity) (unitDef, bool) {
	k := unitKey(s)
	if want == velocity && k == "ms" {
		return speedUnits[0], true
	}
	if k == "ms" && strings.ContainsAny(s, "/_") && want != duration {
		return speedUnits[0], true
	}
	d, ok := unitTable[k]
	if ok && want != noQuantity && d.q != want {
		if want == duration && k == "h" {
			return unitDef{"h", duration, 3600}, true
		}
		return unitDef{}, false
	}
	return d, ok
}
