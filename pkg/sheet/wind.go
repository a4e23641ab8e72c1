package sheet

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// WindReading is the wind as it was read at a time of day: a [[wind]] of the file.
type WindReading struct {
	At    time.Duration `toml:"-"`        // since midnight, UTC
	Speed float64       `toml:"mps"`      // m/s, mean
	From  float64       `toml:"from_deg"` // degrees from true north the wind comes from
	Gust  float64       `toml:"gust_mps"` // m/s, 0 where not noted
	U95   float64       `toml:"u95_mps"`  // m/s, half of the reading's 95 % interval, 0 for what is common
}

// WindAt is the wind at an instant.
type WindAt struct {
	Speed, From float64 // m/s, and degrees from true north it comes from
	U95         float64 // m/s, of the readings, 0 for what is common
	// Between is the standard deviation in m/s that the wind may be off a straight way from one
	// reading to the next: that of a walk tied to both, as large as they differ.
	Between float64
}

// WindAt is the wind at an instant by the readings about it: along a straight way from one to the
// next, and the nearest outside of them. It is false where there are none.
func (s *Sheet) WindAt(at time.Time) (WindAt, bool) {
	if len(s.Winds) == 0 {
		return WindAt{}, false
	}
	d := sinceMidnight(at.UTC())
	k, _ := slices.BinarySearchFunc(s.Winds, d, func(w WindReading, d time.Duration) int { return cmp.Compare(w.At, d) })
	if k == 0 || k == len(s.Winds) {
		w := s.Winds[min(k, len(s.Winds)-1)]
		return WindAt{Speed: w.Speed, From: w.From, U95: w.U95}, true
	}
	a, b := s.Winds[k-1], s.Winds[k]
	f := float64(d-a.At) / float64(b.At-a.At)
	na, ea := a.parts()
	nb, eb := b.parts()
	n, e := na+f*(nb-na), ea+f*(eb-ea)
	return WindAt{Speed: math.Hypot(n, e), From: math.Mod(math.Atan2(e, n)*180/math.Pi+360, 360), U95: max(a.U95, b.U95),
		Between: math.Hypot(nb-na, eb-ea) * math.Sqrt(f*(1-f))}, true
}

// parts are the wind's parts from north and from east.
func (w *WindReading) parts() (north, east float64) {
	sin, cos := math.Sincos(w.From * math.Pi / 180)
	return w.Speed * cos, w.Speed * sin
}

func (c *checker) winds(ws []wireWind) (out []WindReading) {
	c.table = "wind."
	for i := range ws {
		w := &ws[i]
		c.from = c.s.text.Header("wind", i)
		at, err := timeOfDay(w.At)
		if err != nil {
			c.fault("at", "at = %q: want a time of day in UTC, such as 09:58", w.At)
		}
		c.number("mps", w.Speed, w.Speed >= 0 && w.Speed <= 100, "0 to 100")
		c.number("from_deg", w.From, w.From >= 0 && w.From <= 360, "0 to 360")
		c.number("gust_mps", w.Gust, w.Gust == 0 || w.Gust >= w.Speed && w.Gust <= 100, "no less than mps, or left out")
		c.number("u95_mps", w.U95, w.U95 >= 0 && w.U95 <= 20, "0 to 20")
		w.WindReading.At = at
		out = append(out, w.WindReading)
	}
	c.from = 0
	slices.SortStableFunc(out, func(a, b WindReading) int { return cmp.Compare(a.At, b.At) })
	for i := 1; i < len(out); i++ {
		if out[i].At == out[i-1].At {
			c.errs = append(c.errs, c.s.ErrorAt(c.s.text.Header("wind", i), "two winds are of the same time"))
		}
	}
	return out
}
