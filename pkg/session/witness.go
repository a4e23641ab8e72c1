package session

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
)

// drive is the runs of several logs that are one drive of the vehicle: the one that
// counts, then its witnesses.
type drive []*TimedRun

// sameDrives finds the runs of different logs that are one drive: their marks were
// passed at the same instants all along. Logs without a date are joined where the sheet
// says so, and logs that it calls separate never.
func (r *Result) sameDrives(found *sheet.Resolved) []drive {
	j := &joining{of: map[*TimedRun]int{}, rank: map[*Log]float64{}, told: map[*Log]*Log{}, apart: map[*Log]bool{}, beside: map[[2]*Log]int{}}
	if found != nil {
		for i, of := range found.Witness {
			if of >= 0 {
				j.told[r.Logs[i]] = r.Logs[of]
			}
		}
		for i, l := range r.Logs {
			j.apart[l] = found.Separate[i]
		}
	}
	for _, l := range r.Logs {
		for _, of := range r.Logs {
			if l.witness && !of.witness {
				j.told[l] = of
			}
		}
	}
	starts := r.StandingStarts()
	for _, l := range r.Logs {
		if of := j.told[l]; of != nil {
			j.asTold(runsOf(starts, l), runsOf(starts, of))
		}
	}
	j.byClock(r.Logs, starts)
	r.Warnings = append(r.Warnings, j.sideBySide(r.Logs)...)
	return j.ranked()
}

// joining is drives that are being found.
type joining struct {
	groups []drive
	of     map[*TimedRun]int // the group of a run, from 1
	rank   map[*Log]float64  // s, what a time from the log is worth where another has it too
	told   map[*Log]*Log     // logs that are witnesses by the sheet
	apart  map[*Log]bool
	beside map[[2]*Log]int // pairs of runs that began together and were not alike
}

func runsOf(runs []*TimedRun, l *Log) (of []*TimedRun) {
	for _, r := range runs {
		if r.Log == l {
			of = append(of, r)
		}
	}
	return of
}

// byClock joins runs by the instants of their marks.
func (j *joining) byClock(all []*Log, starts []*TimedRun) {
	var dated []*TimedRun
	for _, r := range starts {
		if r.Log.dated() {
			dated = append(dated, r)
		}
	}
	slices.SortStableFunc(dated, func(a, b *TimedRun) int { return a.Launch.Compare(b.Launch) })
	met := map[[2]*Log][]meeting{}
	for i, a := range dated {
		for _, b := range dated[i+1:] {
			if b.Launch.Sub(a.Launch).Seconds() > clocksApart+launchApart {
				break
			}
			if a.Log == b.Log || j.apart[a.Log] || j.apart[b.Log] || j.told[a.Log] == b.Log || j.told[b.Log] == a.Log {
				continue
			}
			m, logs := meet(a, b), [2]*Log{a.Log, b.Log}
			if slices.Index(all, b.Log) < slices.Index(all, a.Log) {
				m, logs = meet(b, a), [2]*Log{b.Log, a.Log}
			}
			switch {
			case math.Abs(m.off) > clocksApart:
			case m.alike:
				met[logs] = append(met[logs], m)
			default:
				j.beside[logs]++
			}
		}
	}
	for i, a := range all {
		for _, b := range all[i+1:] {
			logs := [2]*Log{a, b}
			ms := met[logs]
			if !steady(ms, j.beside[logs]) {
				j.beside[logs] += len(ms)
				continue
			}
			for _, m := range ms {
				j.add(m.a, m.b)
			}
		}
	}
}

// asTold joins the runs of a log with those of the log whose witness it is, whose
// clocks may differ by any amount: by that by which most runs meet.
func (j *joining) asTold(witness, of []*TimedRun) {
	var all []meeting
	for _, a := range witness {
		for _, b := range of {
			if m := meet(a, b); m.alike {
				all = append(all, m)
			}
		}
	}
	best, most := 0.0, 0
	for _, p := range all {
		n := 0
		for _, q := range all {
			if math.Abs(q.off-p.off) <= clocksApart {
				n++
			}
		}
		if n > most || n == most && math.Abs(p.off) < math.Abs(best) {
			best, most = p.off, n
		}
	}
	for _, p := range all {
		if math.Abs(p.off-best) <= clocksApart {
			j.add(p.a, p.b)
		}
	}
}

// add notes that two runs are one drive. A drive has one run of each log: the first
// that was found.
func (j *joining) add(a, b *TimedRun) {
	ga, gb := j.group(a), j.group(b)
	if ga == gb {
		return
	}
	for _, x := range j.groups[ga-1] {
		if slices.ContainsFunc(j.groups[gb-1], func(y *TimedRun) bool { return x.Log == y.Log }) {
			return
		}
	}
	for _, x := range j.groups[gb-1] {
		j.of[x] = ga
	}
	j.groups[ga-1] = append(j.groups[ga-1], j.groups[gb-1]...)
	j.groups[gb-1] = nil
}

func (j *joining) group(r *TimedRun) int {
	if j.of[r] == 0 {
		j.groups = append(j.groups, drive{r})
		j.of[r] = len(j.groups)
	}
	return j.of[r]
}

// ranked are the drives with their runs by what the logs are worth, the best first: a
// log whose times have the smaller half-widths where all runs of the drive have them.
func (j *joining) ranked() []drive {
	halves := map[*Log][]float64{}
	for _, d := range j.groups {
		for _, r := range d {
			for _, o := range d {
				for _, m := range common(r, o) {
					if t, ok := r.Time(m.a.Name, timing.FromRollout); ok && r != o {
						halves[r.Log] = append(halves[r.Log], t.U95/max(t.Seconds, time.Microsecond.Seconds()))
					}
				}
			}
		}
	}
	for l, h := range halves {
		j.rank[l] = middle(h)
	}
	var out []drive
	for _, d := range j.groups {
		if len(d) < 2 {
			continue
		}
		slices.SortStableFunc(d, func(a, b *TimedRun) int {
			return cmp.Or(cmp.Compare(j.depth(a.Log), j.depth(b.Log)), cmp.Compare(j.rank[a.Log], j.rank[b.Log]), strings.Compare(a.Log.Path, b.Log.Path))
		})
		out = append(out, d)
	}
	return out
}

// depth is 1 for a log that is a witness by the sheet.
func (j *joining) depth(l *Log) int {
	if j.told[l] != nil {
		return 1
	}
	return 0
}

// sideBySide says of which logs runs began together and were different drives.
func (j *joining) sideBySide(logs []*Log) []string {
	var out []string
	for i, a := range logs {
		for _, b := range logs[i+1:] {
			if n := j.beside[[2]*Log{a, b}] + j.beside[[2]*Log{b, a}]; n > 0 {
				out = append(out, fmt.Sprintf("%s of %s began together with one of %s and went otherwise: both count, as of two vehicles.", plural(n, "run"), a.Name, b.Name))
			}
		}
	}
	return out
}

// ofOneMode are the drives whose runs are not given different modes; the others count
// as what they are called.
func (r *Result) ofOneMode(drives []drive, says []sheet.Assignment) []drive {
	mode := map[*TimedRun]string{}
	for i, run := range r.Runs {
		mode[run] = run.Mode
		if says != nil {
			mode[run] = cmp.Or(says[i].Mode, run.Mode)
		}
	}
	var one []drive
	for _, d := range drives {
		other := slices.IndexFunc(d, func(run *TimedRun) bool { return mode[run] != "" && mode[d[0]] != "" && mode[run] != mode[d[0]] })
		if other < 0 {
			one = append(one, d)
			continue
		}
		r.Warnings = append(r.Warnings, fmt.Sprintf("%s and %s look like one drive and are given the modes %s and %s: both count.", d[0].ID, d[other].ID, mode[d[0]], mode[d[other]]))
	}
	return one
}

// join has the first run of each drive stand for all of them: what is said of any is
// said of the drive.
func (r *Result) join(drives []drive, says []sheet.Assignment) {
	said := map[*TimedRun]sheet.Assignment{}
	for i, a := range says {
		said[r.Runs[i]] = a
	}
	seen := map[[2]*Log]int{}
	for _, d := range drives {
		first := d[0]
		for _, w := range d[1:] {
			a := said[w]
			if said[first].Excluded != "" {
				a.Excluded = said[first].Excluded
			}
			a.Mode = cmp.Or(first.Mode, w.Mode)
			first.take(a)
		}
		for _, w := range d[1:] {
			w.Mode, w.WitnessOf, w.Counted, w.Kept, w.Excluded = first.Mode, first, false, false, "the drive is "+first.ID+", which another log saw better"
			seen[[2]*Log{first.Log, w.Log}]++
		}
	}
	at := map[*TimedRun]int{}
	for i, run := range r.Runs {
		at[run] = i
	}
	slices.SortStableFunc(r.Runs, func(a, b *TimedRun) int { // a witness stands by its drive
		return cmp.Or(at[cmp.Or(a.WitnessOf, a)]-at[cmp.Or(b.WitnessOf, b)], at[a]-at[b])
	})
	for _, a := range r.Logs {
		for _, b := range r.Logs {
			if n := seen[[2]*Log{a, b}]; n > 0 {
				r.Warnings = append(r.Warnings, fmt.Sprintf("%s and %s are recordings of the same drives: %s, each counted once, as timed from %s.", a.Name, b.Name, plural(n, "drive"), a.Name))
			}
		}
	}
}

// places are the runs' places by their launch, from 1, for a sheet that chooses by them:
// a drive has one place, and 0 is for the runs beside the one that has it. Of logs that
// the sheet lists it is one of these.
func (r *Result) places(drives []drive, found *sheet.Resolved) []int {
	stands := map[*TimedRun]bool{}
	beside := map[*TimedRun]bool{}
	for _, d := range drives {
		is := max(0, slices.IndexFunc(d, func(run *TimedRun) bool { return found.Logs[slices.Index(r.Logs, run.Log)] != "" }))
		for i, run := range d {
			stands[run], beside[run] = i == is, i != is
		}
	}
	out := make([]int, len(r.Runs))
	n := 0
	for i, run := range r.Runs {
		if !beside[run] {
			n++
			out[i] = n
		}
	}
	return out
}

// LaunchOrder is each run's place by its launch, from 1; by the order given
// where a log's clock has an arbitrary zero. A witness has the place of its drive.
func LaunchOrder(runs []*TimedRun) []int {
	index := make([]int, len(runs))
	elapsed := false
	for i, r := range runs {
		index[i] = i
		elapsed = elapsed || r.Log == nil || r.Log.Clock == "elapsed"
	}
	if !elapsed {
		slices.SortStableFunc(index, func(a, b int) int { return runs[a].Launch.Compare(runs[b].Launch) })
	}
	place := make([]int, len(runs))
	at := map[*TimedRun]int{}
	for _, i := range index {
		if runs[i].WitnessOf == nil {
			at[runs[i]] = len(at) + 1
		}
	}
	for i, r := range runs {
		place[i] = cmp.Or(at[r], at[r.WitnessOf], len(runs))
	}
	return place
}
