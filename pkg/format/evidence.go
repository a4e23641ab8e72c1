package format

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"github.com/tidwall/geodesic"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/recording"
)

// stated are the formats whose unit of speed is not settled by the format itself:
// their speeds are held against the positions.
var stated = []string{"csv", "gpx", "json"}

// errUnit is the refusal of a log whose speeds are in another unit than it says.
var errUnit = errors.New("the unit of speed is in doubt")

// CheckSpeedUnit says why name is no unit of speed, nil where it is one or empty.
func CheckSpeedUnit(name string) error {
	_, err := header.SpeedUnit(name)
	return err
}

// inUnit puts the speeds of a GPX log, which has no way to state a unit and is read in
// m/s, on the unit that the user names.
func inUnit(rec *recording.Recording, name string) error {
	u, err := header.SpeedUnit(name)
	if err != nil || u.SI == 0 || rec.Format != "gpx" {
		return err
	}
	for _, t := range rec.Tracks {
		for i, v := range t.Col(recording.Speed) {
			t.Col(recording.Speed)[i] = v * u.SI
		}
		t.SpeedUnit = u.SI
		t.SpeedStep *= u.SI
	}
	return nil
}

// weigh holds the speeds of a log against its positions. Where they fit another unit
// than the stated one it is an error, unless the user has settled the unit; any other
// lasting factor is noted with its number, for tyres and wheelspin make one too.
func weigh(rec *recording.Recording, settled bool) error {
	if !slices.Contains(stated, rec.Format) {
		return nil
	}
	for _, t := range rec.Tracks {
		if t.Source == recording.Position || t.SpeedUnit == 0 {
			continue
		}
		k, way, ok := factor(t)
		if !ok || math.Abs(math.Log(k)) <= flaggedFactor {
			continue
		}
		u, fits := otherUnit(t.SpeedUnit / k)
		if !fits || settled {
			rec.Problems.Addf("speed-scale", diag.Suspect, 1, "speed (%s) is %.3f times what positions say over %.0f m", t.Name, k, way)
			continue
		}
		if rec.Format == "csv" {
			return fmt.Errorf("%w: speed (%s) is %.3g times what positions say over %.0f m: %s? say it with --speed-unit %s, or with --columns 'speed=…:%s'",
				errUnit, t.Name, k, way, u.Name, u.Name, u.Name)
		}
		return fmt.Errorf("%w: speed is %.3g times what positions say over %.0f m: %s? say it with --speed-unit %s", errUnit, k, way, u.Name, u.Name)
	}
	return nil
}

// otherUnit is the unit of the size si in m/s.
func otherUnit(si float64) (header.Unit, bool) {
	for _, u := range header.SpeedUnits {
		if math.Abs(math.Log(si/u.SI)) < unitMatch {
			return u, true
		}
	}
	return header.Unit{}, false
}

// factor is how many times the way along the positions a track's speed gives, on
// stretches of steady driving, and how long these are in m. It is not ok where they
// are too few or too unlike to tell.
func factor(t *recording.Track) (k, way float64, ok bool) {
	speed, lat, lon := t.Col(recording.Speed), t.Col(recording.LatDeg), t.Col(recording.LonDeg)
	if speed == nil || lat == nil || lon == nil {
		return 0, 0, false
	}
	var ratios []float64
	for from, j := 0, 1; j < t.Len(); j++ {
		seconds := func(a, b int) float64 { return float64(t.NanoAt(b)-t.NanoAt(a)) / 1e9 }
		if whole := speed[j] + lat[j] + lon[j] + speed[from] + lat[from] + lon[from]; whole != whole || seconds(j-1, j) > longestStep {
			from = j
			continue
		}
		if seconds(from, j) < shortestStretch {
			continue
		}
		said, lo, hi := 0.0, speed[from], speed[from]
		for i := from + 1; i <= j; i++ {
			said += (speed[i] + speed[i-1]) / 2 * seconds(i-1, i)
			lo, hi = min(lo, speed[i]), max(hi, speed[i])
		}
		var d float64
		geodesic.WGS84.Inverse(lat[from], lon[from], lat[j], lon[j], &d, nil, nil)
		long := seconds(from, j) > longestStretch
		if d < shortestWay && !long {
			continue
		}
		if !long && hi-lo <= steady*hi && said > 0 {
			ratios = append(ratios, said/d)
			way += d
		}
		from = j
	}
	if len(ratios) < fewestStretches || way < leastWay {
		return 0, way, false
	}
	slices.Sort(ratios)
	n := len(ratios)
	mid := ratios[n/2]
	spread := (ratios[3*n/4] - ratios[n/4]) / mid / math.Sqrt(float64(n))
	return mid, way, spread < leastSure
}
