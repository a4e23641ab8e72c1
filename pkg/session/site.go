package session

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// bySession are the flags that a run has by the others of its session and its sheet.
var bySession = []string{segment.FlagElsewhere, segment.FlagOtherWay, segment.FlagCoolDown}

// Site says where a session was driven: the ways that its runs went and the stretches of ground
// that they began on.
type Site struct {
	Runs []*TimedRun // standing starts with positions, in the order of the result; witnesses left out
	Axis float64     // degrees from true north, the way that most went
	// Along and Across are where each run began, in m from the start of the first on the main
	// stretch of the way that most went: along Axis, and to the right of it.
	Along, Across []float64
	Way           []int // of each run, 0 for the one that most went
	Stretch       []int // of each run, see TimedRun.Stretch
}

// spot is a run among those of one stretch of driving.
type spot struct {
	run           *TimedRun
	along, across float64 // m
	way, cluster  int
	lo, hi        float64 // m along, of the way it drove
}

// locate finds the stretches of ground that runs began on, and flags those that began elsewhere or
// went another way than the session's.
func (r *Result) locate() {
	starts := slices.DeleteFunc(r.StandingStarts(), func(run *TimedRun) bool { return run.WitnessOf != nil })
	for _, run := range r.Runs {
		run.Stretch = 0
		run.Flags = slices.DeleteFunc(slices.Clone(run.Flags), func(f segment.Flag) bool { return slices.Contains(bySession, f.Code) })
	}
	byBlock := map[int][]*TimedRun{}
	next := 1
	blocks := stretches(starts)
	for i, run := range starts {
		if run.Ground.Known() && !math.IsNaN(run.HeadingDeg) {
			byBlock[blocks[i]] = append(byBlock[blocks[i]], run)
		}
	}
	r.site = nil
	for b := 0; len(byBlock) > 0; b++ {
		if runs := byBlock[b]; len(runs) > 0 {
			site := siteOf(runs, &next)
			if r.site == nil || len(site.Runs) > len(r.site.Runs) {
				r.site = site
			}
		}
		delete(byBlock, b)
	}
}

// Site is where the session was driven, nil where no log has positions. Of several stretches of
// driving it is the one with the most runs.
func (r *Result) Site() *Site { return r.site }

// only is the site with some runs alone, nil without any.
func (s *Site) only(runs []*TimedRun) *Site {
	if s == nil {
		return nil
	}
	out := &Site{Axis: s.Axis}
	for i, r := range s.Runs {
		if slices.Contains(runs, r) {
			out.Runs, out.Along, out.Across = append(out.Runs, r), append(out.Along, s.Along[i]), append(out.Across, s.Across[i])
			out.Way, out.Stretch = append(out.Way, s.Way[i]), append(out.Stretch, s.Stretch[i])
		}
	}
	if len(out.Runs) == 0 {
		return nil
	}
	return out
}

// siteOf tells the ways and the stretches of the runs of one stretch of driving apart.
func siteOf(runs []*TimedRun, next *int) *Site {
	way, headings := ways(runs)
	axis := headings[0]
	sin, cos := math.Sincos(axis * math.Pi / 180)
	spots := make([]*spot, len(runs))
	for i, run := range runs {
		n, e := away(runs[0].Ground.LatDeg, runs[0].Ground.LonDeg, run.Ground.LatDeg, run.Ground.LonDeg)
		s := &spot{run: run, along: n*cos + e*sin, across: e*cos - n*sin, way: way[i]}
		end := s.along + run.Ground.EndNorth*cos + run.Ground.EndEast*sin
		s.lo, s.hi = min(s.along, end), max(s.along, end)
		spots[i] = s
	}
	groups := make([][][]*spot, len(headings)) // by way, the largest first
	for w := range headings {
		groups[w] = clusters(slices.DeleteFunc(slices.Clone(spots), func(s *spot) bool { return s.way != w }))
	}
	number(groups, next)
	flagWays(groups, headings)
	for w := range groups {
		flagStarts(groups[w])
	}
	site := &Site{Runs: runs, Axis: axis}
	zero := groups[0][0][0]
	for _, s := range spots {
		site.Along, site.Across = append(site.Along, s.along-zero.along), append(site.Across, s.across-zero.across)
		site.Way, site.Stretch = append(site.Way, s.way), append(site.Stretch, s.run.Stretch)
	}
	return site
}

// ways groups runs by heading, the way that most went first, with the mean heading of each.
func ways(runs []*TimedRun) (of []int, headings []float64) {
	type group struct {
		s, c float64
		runs []int
	}
	var groups []*group
	mean := func(g *group) float64 { return math.Atan2(g.s, g.c) * 180 / math.Pi }
	for i, r := range runs {
		k := slices.IndexFunc(groups, func(g *group) bool { return math.Abs(math.Remainder(r.HeadingDeg-mean(g), 360)) <= sameWay })
		if k < 0 {
			groups, k = append(groups, &group{}), len(groups)
		}
		sin, cos := math.Sincos(r.HeadingDeg * math.Pi / 180)
		groups[k].s, groups[k].c, groups[k].runs = groups[k].s+sin, groups[k].c+cos, append(groups[k].runs, i)
	}
	slices.SortStableFunc(groups, func(a, b *group) int { return cmp.Compare(len(b.runs), len(a.runs)) })
	of = make([]int, len(runs))
	for k, g := range groups {
		headings = append(headings, math.Mod(mean(g)+360, 360))
		for _, i := range g.runs {
			of[i] = k
		}
	}
	return of, headings
}

// clusters joins starts that lie near each other, as far as their positions can tell: each is
// within reach of another of its cluster. The largest comes first.
func clusters(spots []*spot) (out [][]*spot) {
	for i, s := range spots {
		s.cluster = i
	}
	wander := 0.0
	for _, s := range spots {
		wander += s.run.Ground.Wander / float64(len(spots))
	}
	for i, a := range spots {
		for _, b := range spots[:i] {
			if a.cluster != b.cluster && reachable(a, b, wander) {
				old := a.cluster
				for _, s := range spots {
					if s.cluster == old {
						s.cluster = b.cluster
					}
				}
			}
		}
	}
	at := map[int]int{}
	for _, s := range spots {
		k, ok := at[s.cluster]
		if !ok {
			k = len(out)
			at[s.cluster], out = k, append(out, nil)
		}
		out[k] = append(out[k], s)
	}
	slices.SortStableFunc(out, func(a, b []*spot) int { return cmp.Compare(len(b), len(a)) })
	return out
}

// reachable reports whether two starts may be on one stretch.
func reachable(a, b *spot, wander float64) bool {
	apart := math.Abs(a.run.Launch.Sub(b.run.Launch).Seconds())
	u := uncert.Z95 * uncert.Combine(a.run.Ground.U, b.run.Ground.U, math.Sqrt(wander*min(apart, wanderLongest)))
	return math.Abs(a.along-b.along) <= lineUp+u && math.Abs(a.across-b.across) <= lane+u
}

// number gives the clusters of all ways the numbers of stretches: those of two ways that cover the
// same ground are one stretch, and the ones that most runs began on are 0.
func number(groups [][][]*spot, next *int) {
	type known struct {
		id    int
		spots []*spot
	}
	var stretches []*known
	for _, way := range groups {
		taken := map[int]bool{}
		for _, c := range way {
			var best *known
			most := 0.0
			for _, k := range stretches {
				if o := overlap(c, k.spots); !taken[k.id] && o > most {
					best, most = k, o
				}
			}
			if best == nil {
				best = &known{id: *next}
				if len(stretches) == 0 {
					best.id = 0
				} else {
					*next++
				}
				stretches = append(stretches, best)
			}
			taken[best.id] = true
			best.spots = append(best.spots, c...)
			for _, s := range c {
				s.run.Stretch = best.id
			}
		}
	}
}

// overlap is how much ground two clusters of runs have in common, in m of all pairs.
func overlap(a, b []*spot) float64 {
	sum := 0.0
	for _, s := range a {
		for _, t := range b {
			sum += max(0, min(s.hi, t.hi)-max(s.lo, t.lo))
		}
	}
	return sum
}

// flagWays flags the runs that went another way than the session's: across its axis, or alone
// against a way that all the others went.
func flagWays(groups [][][]*spot, headings []float64) {
	count := func(w int) (n int) {
		for _, c := range groups[w] {
			n += len(c)
		}
		return n
	}
	for w := 1; w < len(groups); w++ {
		n := count(w)
		back := math.Abs(math.Remainder(headings[w]-headings[0], 360)) >= 180-sameWay
		if back && (n > 1 || count(0) < wayAgreed) || !back && (count(0) < startsAgreed || 2*n >= count(0)) {
			continue
		}
		for _, c := range groups[w] {
			for _, s := range c {
				s.run.Flags = append(s.run.Flags, segment.Flag{Code: segment.FlagOtherWay,
					Text: fmt.Sprintf("it went %s where %d others went %s", unit.Heading(headings[w]), count(0), unit.Heading(headings[0]))})
			}
		}
	}
}

// flagStarts flags the runs of one way that began on another stretch than most.
func flagStarts(way [][]*spot) {
	for _, c := range way[1:] {
		if len(way[0]) < startsAgreed || 2*len(c) >= len(way[0]) {
			continue
		}
		along, across := 0.0, 0.0
		for _, s := range way[0] {
			along, across = along+s.along/float64(len(way[0])), across+s.across/float64(len(way[0]))
		}
		for _, s := range c {
			s.run.Flags = append(s.run.Flags, segment.Flag{Code: segment.FlagElsewhere,
				Text: fmt.Sprintf("it began %.0f m from where %d others the same way began", math.Hypot(s.along-along, s.across-across), len(way[0]))})
		}
	}
}

// Line is the way of the i-th run: s since its launch and m along and to the right of the site's
// axis from the first start, its standstill first. It is empty where no positions are held.
func (s *Site) Line(i int) (t, along, across []float64) {
	g := &s.Runs[i].Ground
	t, along, across = turned(g, s.Axis)
	for k := range t {
		along[k], across[k] = along[k]+s.Along[i], across[k]+s.Across[i]
	}
	return t, along, across
}

// At is where the i-th run was so many s after its launch, and whether its positions tell.
func (s *Site) At(i int, t float64) (along, across float64, ok bool) {
	ts, xs, ys := s.Line(i)
	k, _ := slices.BinarySearch(ts, t)
	if k == 0 || k >= len(ts) {
		return math.NaN(), math.NaN(), false
	}
	w := (t - ts[k-1]) / (ts[k] - ts[k-1])
	return xs[k-1] + w*(xs[k]-xs[k-1]), ys[k-1] + w*(ys[k]-ys[k-1]), true
}

// Line is the way of a run from its start line: s since its launch, m along its heading and to the
// right of it. It says nothing of where on earth that is. It is empty for a run without positions,
// heading or columns.
func (r *TimedRun) Line() (t, along, across []float64) {
	if math.IsNaN(r.HeadingDeg) {
		return nil, nil, nil
	}
	return turned(&r.Ground, r.HeadingDeg)
}

// turned is a way along and across a heading in degrees, from the standstill on.
func turned(g *Ground, heading float64) (t, along, across []float64) {
	if len(g.T) == 0 {
		return nil, nil, nil
	}
	sin, cos := math.Sincos(heading * math.Pi / 180)
	t, along, across = []float64{0}, []float64{0}, []float64{0}
	for i := range g.T {
		if g.T[i] > 0 {
			t, along, across = append(t, g.T[i]), append(along, g.North[i]*cos+g.East[i]*sin), append(across, g.East[i]*cos-g.North[i]*sin)
		}
	}
	return t, along, across
}
