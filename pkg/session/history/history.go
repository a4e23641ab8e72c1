// Package history holds the sessions of one vehicle against each other: its times by date, and
// whether they drifted or stepped.
//
// # Model
//
// The mean of a mode on a day is that of its session. It is off the vehicle's by what the runs
// scatter, by what the day did, and by what the receiver of the day shows all its runs alike. How
// far days differ two dates cannot show: DayShare is taken, and
// where, from three dates on, what is left over beside a step or a drift is more, that. A step
// is looked for before every date but the first, a drift along the dates; all of these tests
// together are to find something in at most 5 histories in 100 in which nothing changed.
//
// # States and units
//
// Times in s, dates in UTC. A day whose mode has one run counts with the pooled scatter of the
// others. Results of several revisions of the model are not held against each other.
//
// # Limits
//
// A step between two dates is one of everything that changed between them. Where days differ by
// more than is taken, two dates find steps that are none: the sentence says what was taken.
package history

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Alpha is the chance of any false step or drift in a history.
const Alpha = 0.05

// Day is what a mode did in one session.
type Day struct {
	Session  string    // its title, or what it was called
	Date     time.Time // of its first launch; zero where no log has a date
	Mean     float64   // s, of both directions where both were driven
	U95      float64   // s, half of its 95 % interval within the session
	N        int       // runs in it
	SD       float64   // s, scatter of the runs; NaN for one
	DF       float64   // degrees of freedom of SD
	Shared   float64   // s, standard uncertainty that all its runs share
	Tyres    string    // as the sheet has them
	Odometer float64   // km, 0 where not known
	Receiver string    // its profile's name, "" where none was given
	Model    int       // revision that worked it out
	Version  string
}

// Change is a step or a drift.
type Change struct {
	At    int     // day before which the step is; 0 for a drift
	Value float64 // s; of a drift for a year
	U95   float64 // s; the same
	P     float64 // of nothing, with all tests of the history counted
	Told  bool    // P is under Alpha
}

// Series is one mode of one vehicle at one place.
type Series struct {
	Vehicle, Mode string
	Target        string
	From          timing.Origin
	Days          []Day
	Step, Drift   Change  // the likeliest of each; NaN where they cannot be told
	DaySD         float64 // s, how far days differ, as taken
	DaySDFrom     string  // in words
	Why           string  // why nothing is tested, "" where it is
}

// Of are the series of some sessions, by vehicle and mode as they are first met, at the target that
// decides in the first session where target is "". The names call the results.
func Of(results []*session.Result, names []string, target string, from timing.Origin) []Series {
	var out []Series
	for i, res := range results {
		at, origin := target, from
		if first, o, _ := results[0].Primary(); at == "" {
			at, origin = first, cmp.Or(from, o)
		}
		origin = cmp.Or(origin, timing.FromRollout)
		t := res.At(at, origin)
		if t == nil {
			continue
		}
		vehicle := ""
		if res.Sheet != nil {
			vehicle = res.Sheet.Vehicle.Name
		}
		for _, m := range t.Modes {
			d := Day{Session: names[i], N: m.N, Mean: m.Mean, U95: m.U95, SD: m.SD, DF: float64(m.N - 1), Model: res.Settings.Model, Version: res.Settings.Version}
			if !math.IsNaN(m.TwoWay) {
				d.Mean, d.U95, d.DF = m.TwoWay, m.TwoWayU95, float64(m.N-2)
				d.SD = m.Scatter // about the model, direction taken out
			}
			for _, r := range t.Runs {
				if r.Mode == m.Name && r.Counted {
					d.Shared = max(d.Shared, r.Shared)
				}
			}
			d.of(res)
			k := slices.IndexFunc(out, func(s Series) bool { return s.Vehicle == vehicle && s.Mode == m.Name })
			if k < 0 {
				k, out = len(out), append(out, Series{Vehicle: vehicle, Mode: m.Name, Target: at, From: origin})
			}
			out[k].Days = append(out[k].Days, d)
		}
	}
	for i := range out {
		slices.SortStableFunc(out[i].Days, func(a, b Day) int { return a.Date.Compare(b.Date) })
		out[i].test()
	}
	return out
}

// of takes over what the session and its sheet say of the day.
func (d *Day) of(res *session.Result) {
	for _, r := range res.StandingStarts() {
		if r.Log != nil && !r.Log.Undated && r.Log.Clock != "elapsed" && (d.Date.IsZero() || r.Launch.Before(d.Date)) {
			d.Date = r.Launch
		}
	}
	if sh := res.Sheet; sh != nil {
		if d.Date.IsZero() {
			d.Date = sh.Date
		}
		d.Tyres, d.Odometer, d.Receiver = cmp.Or(sh.Vehicle.Brake, sh.Vehicle.Tyre), sh.Vehicle.Odo, sh.Receiver.Name
	}
}

// test looks for a step and for a drift.
func (s *Series) test() {
	none := Change{Value: math.NaN(), U95: math.NaN(), P: math.NaN()}
	s.Step, s.Drift = none, none
	if s.Why = s.untestable(); s.Why != "" {
		return
	}
	k := len(s.Days)
	tests := k - 1
	if k > 2 {
		tests++
	}
	mean := 0.0
	for _, d := range s.Days {
		mean += d.Mean / float64(k)
	}
	taken := max(DayShare*mean, DayLeast)
	s.DaySD = taken
	for at := 1; at < k; at++ {
		x := make([]float64, k)
		for i := at; i < k; i++ {
			x[i] = 1
		}
		if c, day := s.fit(x, taken, tests); math.IsNaN(s.Step.P) || c.P < s.Step.P {
			c.At = at
			s.Step, s.DaySD = c, day
		}
	}
	if k > 2 {
		x := make([]float64, k)
		for i, d := range s.Days {
			x[i] = d.Date.Sub(s.Days[0].Date).Hours() / (24 * 365.25)
		}
		if slices.Max(x) > 0 {
			s.Drift, _ = s.fit(x, taken, tests)
		}
	}
	if s.DaySDFrom = "assumed"; s.DaySD > taken {
		s.DaySDFrom = "as these dates do"
	}
}

// untestable is why a series cannot be tested.
func (s *Series) untestable() string {
	free := 0.0
	for _, d := range s.Days {
		free += max(0, d.DF)
		if d.Date.IsZero() {
			return "a session has no date"
		}
		if d.Model != s.Days[0].Model {
			return fmt.Sprintf("the sessions were worked out by revisions %d and %d of the model: work them out by one", s.Days[0].Model, d.Model)
		}
	}
	switch {
	case len(s.Days) < 2:
		return "one session"
	case free < 1:
		return "so few runs cannot show how far runs scatter"
	}
	return ""
}

// oneReceiver reports whether all days were driven with one receiver by name.
func (s *Series) oneReceiver() bool {
	return s.Days[0].Receiver != "" && !slices.ContainsFunc(s.Days, func(d Day) bool { return d.Receiver != s.Days[0].Receiver })
}

// fit is the slope of the days' means on x, weighed, and what days differ by beside it.
func (s *Series) fit(x []float64, taken float64, tests int) (Change, float64) {
	k := len(s.Days)
	runs, within := 0.0, 0.0 // pooled scatter of runs
	for _, d := range s.Days {
		if d.DF >= 1 && !math.IsNaN(d.SD) {
			runs, within = runs+d.DF, within+d.DF*d.SD*d.SD
		}
	}
	within /= runs
	own := make([]float64, k) // variance of each mean but for what days do
	for i, d := range s.Days {
		own[i] = within / float64(d.N)
		if !s.oneReceiver() {
			own[i] += d.Shared * d.Shared
		}
	}
	day, dayFree := taken*taken, dayDF
	for range rounds {
		slope, mean, _ := s.line(x, own, day)
		over := 0.0
		for i, d := range s.Days {
			e := d.Mean - mean - slope*x[i]
			over += e*e - own[i]*float64(k-2)/float64(k)
		}
		day, dayFree = taken*taken, dayDF
		if k > 2 && over/float64(k-2) > day { // the dates themselves say that they differ more
			day, dayFree = over/float64(k-2), float64(k-2)
		}
	}
	slope, _, variance := s.line(x, own, day)
	// Of the variance the days' part is known from dayDF and the dates, the runs' from the runs.
	_, _, alone := s.line(x, own, 0)
	share := math.Min(1, alone/variance)
	df := 1 / (share*share/runs + (1-share)*(1-share)/dayFree)
	se := math.Sqrt(variance)
	p := math.Min(1, float64(tests)*stats.TP(math.Abs(slope)/se, df))
	return Change{Value: slope, U95: stats.TQuantile(uncert.Level, df) * se, P: p, Told: p < Alpha}, math.Sqrt(day)
}

// line is the weighed regression of the means on x: its slope, what it is at 0, and the variance of
// the slope.
func (s *Series) line(x, own []float64, day float64) (slope, at0, variance float64) {
	var w, wx, wy float64
	for i, d := range s.Days {
		g := 1 / (own[i] + day)
		w, wx, wy = w+g, wx+g*x[i], wy+g*d.Mean
	}
	mx, my := wx/w, wy/w
	var xx, xy float64
	for i, d := range s.Days {
		g := 1 / (own[i] + day)
		xx, xy = xx+g*(x[i]-mx)*(x[i]-mx), xy+g*(x[i]-mx)*(d.Mean-my)
	}
	slope = xy / xx
	return slope, my - slope*mx, 1 / xx
}

// Said are the findings of a series, whole sentences.
func (s *Series) Said() []string {
	if s.Why != "" {
		return []string{"Nothing is tested: " + s.Why + "."}
	}
	var out []string
	days := uncert.RoundHalfUp(s.DaySD, 3)
	if c := s.Step; c.Told {
		a, b := s.Days[c.At-1], s.Days[c.At]
		v, h := uncert.Format(math.Abs(c.Value), c.U95)
		out = append(out, fmt.Sprintf("Step: from %s on, times are %s s (±%s) %s than before, if days differ by %s s (%s). Everything that changed since %s may be why.",
			b.Date.Format(time.DateOnly), v, h, longer(c.Value), days, s.DaySDFrom, a.Date.Format(time.DateOnly)))
	}
	if c := s.Drift; c.Told {
		v, h := uncert.Format(math.Abs(c.Value), c.U95)
		out = append(out, fmt.Sprintf("Drift: times grow %s s (±%s) a year %s, if days differ by %s s (%s).", v, h, longer(c.Value), days, s.DaySDFrom))
	}
	if s.Step.Told && s.Drift.Told {
		out = append(out, "Which of the two it was these dates do not tell.")
	}
	if len(out) == 0 {
		v, h := uncert.Format(s.Step.Value, s.Step.U95)
		out = append(out, fmt.Sprintf("No step and no drift is told; the likeliest step, before %s, is %s ± %s s, if days differ by %s s (%s).",
			s.Days[s.Step.At].Date.Format(time.DateOnly), unit.Printed(v), h, days, s.DaySDFrom))
	}
	if !s.oneReceiver() {
		out = append(out, "The receivers differ or have no profile with a name: what each shows all its runs alike is allowed for. check --learn keeps a receiver's profile.")
	}
	return out
}

func longer(x float64) string {
	if x > 0 {
		return "longer"
	}
	return "shorter"
}
