package ramp

import "math"

// Table is the speed that one unit of full thrust shows, at even steps of the time since
// the launch: for searches that ask for it thousands of times.
type Table struct {
	from, step float64 // s
	v          []float64
}

// Tabulate tabulates what is shown between two times since the launch, at a step that a
// whole number of times is that of the filter's fixes.
func (s *Seen) Tabulate(from, to, step float64) *Table {
	t := &Table{from: from, step: step, v: make([]float64, int(math.Ceil((to-from)/step))+2)}
	if s.Filtered() && s.By.Kind != FirstOrder {
		s.taps(t)
		return t
	}
	for i := range t.v {
		_, t.v[i], _ = s.Moved(from + float64(i)*step)
	}
	return t
}

// taps fills a table behind a filter that weighs fixes.
func (s *Seen) taps(t *Table) {
	per := int(math.Round(s.By.Step / t.step))
	n := len(t.v) + per*(len(s.By.taps)-1)
	begin := t.from - float64(n-len(t.v))*t.step
	if s.Backwards {
		begin = t.from
	}
	plain := make([]float64, n)
	for i := range plain {
		_, plain[i], _ = s.Ramp.Moved(begin + float64(i)*t.step)
	}
	for i := range t.v {
		for j, w := range s.By.taps {
			if s.Backwards {
				t.v[i] += w * plain[i+j*per]
			} else {
				t.v[i] += w * plain[i+n-len(t.v)-j*per]
			}
		}
	}
}

// With is a thrust of which a share comes as in t and the rest as in o, a table of the same
// times.
func (t *Table) With(share float64, o *Table) *Table {
	out := &Table{from: t.from, step: t.step, v: make([]float64, len(t.v))}
	for i := range out.v {
		out.v[i] = share*t.v[i] + (1-share)*o.v[i]
	}
	return out
}

// Response is the speed shown a time after the launch, between the steps in proportion. A
// table has no acceleration.
func (t *Table) Response(at float64) (v, a float64) {
	x := (at - t.from) / t.step
	i := min(max(int(x), 0), len(t.v)-2)
	u := x - float64(i)
	return t.v[i] + u*(t.v[i+1]-t.v[i]), 0
}
