package session

import (
	"fmt"
	"math"
	"slices"
	"time"

	"fromrest/pkg/cache"
	"fromrest/pkg/diag"
	"fromrest/pkg/motion/ramp"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
)

// Learned is what the launches of a mode taught each other of how its thrust builds up.
type Learned struct {
	Mode string   // or the log's name where logs stand for modes; "" for runs without one
	Runs []string // ids of the runs that taught it
	// Tau is the build-up time to 95 % in s: the median of the runs' and its limits of 95 %.
	Tau, Low, High float64
}

// learn has the launches of each mode teach each other: one vehicle and one foot build
// thrust up alike, and six launches tell of it what one does not. Every run's launch and
// its times follow. Runs whose launch was not one from rest learn nothing and teach
// nothing, and neither do the witnesses of a drive: the log that counts saw the same
// launch better.
func (r *Result) learn() {
	r.Learned = nil
	pooled := r.pool()
	starts := r.StandingStarts()
	_, byLog := r.modeNames(starts)
	type key struct {
		mode, log string
	}
	groups := map[key][]*TimedRun{}
	var order []key
	for _, run := range starts {
		if !run.tells() {
			continue
		}
		k := key{mode: modeOf(run, byLog)}
		if run.WitnessOf != nil || k.mode == "" || !run.sharp() {
			k.log = run.Log.Name
		}
		if !run.sharp() {
			_, _ = teach(pooled, run)
			continue
		}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], run)
	}
	for _, k := range order {
		runs := groups[k]
		taught, ok := teach(pooled, runs...)
		if !ok {
			continue
		}
		l := Learned{Mode: k.mode, Tau: taught.Tau, Low: taught.Low, High: taught.High}
		for _, run := range runs {
			l.Runs = append(l.Runs, run.ID)
		}
		if runs[0].WitnessOf == nil {
			r.Learned = append(r.Learned, l)
		}
	}
}

// teach has runs teach each other, with the probabilities of the filters of logs that told
// of their receiver together. It is not ok where what they tell was not to be had again.
func teach(pooled map[*Log][]float64, runs ...*TimedRun) (taught ramp.Learned, ok bool) {
	type part struct { // with a receiver of which one thing is known
		log     *Log
		stretch int
	}
	logs := map[part]int{}
	of := make([]int, len(runs))
	for i, run := range runs {
		p := part{run.Log, run.stretch}
		if _, ok := logs[p]; !ok {
			logs[p] = len(logs)
		}
		of[i] = logs[p]
	}
	var lost error
	taught = ramp.Learn(len(runs), func(i int) ramp.Told {
		t, err := runs[i].told()
		if err != nil {
			lost = err
		}
		if p := pooled[runs[i].Log]; len(p) == len(t.Filters) && p != nil {
			t.Filters = p
		}
		t.Log = of[i]
		return t
	})
	for i, run := range runs {
		if lost == nil {
			lost = run.learn(taught, i)
		}
	}
	if lost != nil {
		runs[0].Log.Problems.Addf("unlearned", diag.Suspect, 1, "what runs teach each other was not to be had again, and times are those of each run alone: %v", lost)
	}
	return taught, lost == nil
}

// sharp reports whether a run was launched from rest as far as its readings tell.
func (r *TimedRun) sharp() bool {
	return !slices.ContainsFunc(r.Flags, func(f segment.Flag) bool {
		switch f.Code {
		case segment.FlagCreep, segment.FlagRollBack, segment.FlagLogStart, segment.FlagRollingStart:
			return true
		}
		return false
	})
}

// learn gives a run, the i-th of those that taught it, the launch and the times that
// follow from the probabilities of its build-ups.
func (r *TimedRun) learn(told ramp.Learned, i int) error {
	l, err := r.launches()
	if err != nil {
		return err
	}
	ramps, of := told.Of(i)
	w := l.Weights(ramps)
	at := l.Launch(w)
	r.move(at.X)
	r.LaunchSD = at.U
	r.gentle(ramps)
	modes := make([][]float64, len(of))
	for k, ramps := range of {
		modes[k] = l.Weights(ramps)
	}
	for k := range l.Cells {
		c := &l.Cells[k]
		seconds, u95 := l.Time(c, w)
		common := 0.0
		for g, m := range told.Modes {
			d := l.Mean(c, modes[g]) - seconds
			common += m.Probability * d * d
		}
		common += l.Smoothing(c, w)
		seconds, u95, common = micro(seconds), micro(u95), micro(math.Sqrt(common))
		if c.Name == "" {
			r.Rollout, r.RolloutU95 = seconds, u95
			continue
		}
		n := slices.IndexFunc(r.Times, func(t timing.Time) bool { return t.Name == c.Name && t.From == c.From })
		if n < 0 {
			continue
		}
		t := &r.Times[n]
		t.Seconds, t.U95, t.Common, t.Reason = seconds, u95, common, ""
	}
	r.shelved.launches, r.shelved.told = cache.Place{}, cache.Place{} // a long log's runs learn once
	r.known()
	return nil
}

// gentle flags a run whose thrust was fed in over so long that its launch is no instant
// that a driver could repeat.
func (r *TimedRun) gentle(weights []float64) {
	r.Flags = slices.DeleteFunc(slices.Clone(r.Flags), func(f segment.Flag) bool { return f.Code == segment.FlagGentle })
	if ramp.Over(weights, gentleTau) < gentleSure {
		return
	}
	r.Flags = append(r.Flags, segment.Flag{Code: segment.FlagGentle,
		Text: fmt.Sprintf("tractive force was fed in over about %.1f s: a departure, no test launch", ramp.Median(weights))})
}

// move moves the launch by d seconds on the log's clock from where it is for the run alone;
// everything that counts from it moves the other way. Columns are not changed in place:
// others may hold them.
func (r *TimedRun) move(d float64) {
	o := r.base
	if o == nil {
		k := *r
		if o = &k; r.Launches != nil { // else it learns once
			r.base = o
		}
	}
	r.moved = d
	r.LogSeconds = o.LogSeconds + d
	r.Launch = o.Launch.Add(time.Duration(math.Round(d * float64(time.Second))))
	r.later(o, d)
	r.Times, r.Pulls = slices.Clone(r.Times), slices.Clone(r.Pulls)
	for i := range r.Times {
		r.Times[i].End = o.Times[i].End - d
	}
	for i := range r.Pulls {
		r.Pulls[i].End = o.Pulls[i].End - d
	}
}

// later gives a run the columns of another one, counted from d seconds later.
func (r *TimedRun) later(o *TimedRun, d float64) {
	r.Trace = o.Trace.Later(d)
	r.RawT, r.RawAccelT = less(o.RawT, d), less(o.RawAccelT, d)
	r.Climb.AltT, r.Climb.UpT = less(o.Climb.AltT, d), less(o.Climb.UpT, d)
	r.Ground.T = less(o.Ground.T, d)
}

// less is a column with d taken off each value.
func less(col []float64, d float64) []float64 {
	if col == nil {
		return nil
	}
	out := make([]float64, len(col))
	for i, x := range col {
		out[i] = x - d
	}
	return out
}
