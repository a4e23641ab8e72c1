package segment

import (
	"strconv"

	"fromrest/pkg/motion"
)

func seconds(x float64) string { return strconv.FormatFloat(x, 'f', 2, 64) + " s" }

func degrees(x float64) string { return strconv.FormatFloat(x, 'f', 0, 64) + "°" }

// rollingIn finds, between two standstills, starts from walking pace and pulls
// from speed. What begins at the first standstill is a standing start, found
// elsewhere.
func (f *finder) rollingIn(from, end int) []Segment {
	var out []Segment
	i := from
	if from > 0 { // skip the standing start itself
		i, _, _ = f.follow(from, end)
	}
	for i < end {
		low := f.valley(i, end)
		if low < 0 {
			break
		}
		to, vmax, flags := f.follow(low, end)
		next := low + 1
		i = max(to, next)
		if to <= low+2 || f.Speed[low] > vmax || f.gentle(low, to) {
			continue
		}
		if f.Speed[next]-f.Speed[low] > motion.Hardest*(f.T[next]-f.T[low])+jumpSlack {
			i = next
			continue
		}
		gain := vmax - f.Speed[low]
		walk := f.Speed[low] < walking
		if gain >= pullGain || walk && vmax >= ListedSpeed {
			sg := Segment{Kind: Rolling, From: low, Moving: low, To: to, Max: vmax, Flags: flags}
			if walk {
				code, text := FlagRollingStart, "no standstill before the launch"
				if low == 0 {
					code, text = FlagLogStart, "the log begins as the vehicle moves off"
				}
				sg.flag(code, f.T[low], f.T[low], text)
			}
			f.describe(&sg)
			out = append(out, sg)
		}
	}
	return out
}

// gentle tells driving along from a pull: a mean acceleration below what any
// test is about.
func (f *finder) gentle(from, to int) bool {
	return f.Speed[to-1]-f.Speed[from] < gentleMean*(f.T[to-1]-f.T[from])
}

// valley is the next local minimum of speed from i on, where speed has stopped
// falling by more than noise.
func (f *finder) valley(i, end int) int {
	low := -1
	for ; i < end; i++ {
		if f.out(i) {
			continue
		}
		if low < 0 || f.Speed[i] <= f.Speed[low] {
			low = i
		} else if f.Speed[i] > f.Speed[low]+max(leastRise, riseSDs*f.Noise) {
			return low
		}
	}
	return -1
}

// braking looks for a hard stop into the standstill r, after sample from.
func (f *finder) braking(from int, r span) (Segment, bool) {
	top := r.from
	for i := r.from - 1; i >= from; i-- {
		if f.out(i) {
			continue
		}
		if f.Speed[i] < f.Speed[top]-leastDrop || i > 0 && f.T[i+1]-f.T[i] > longGap {
			break
		}
		// Braking begins where deceleration sets in, not at the highest speed
		// before a long coast.
		if f.Speed[i] >= f.Speed[top] {
			if ahead := f.ahead(i); f.Speed[i] > brakingTop && f.Speed[i]-f.Speed[ahead] < coastMean*(f.T[ahead]-f.T[i]) {
				break
			}
			top = i
		}
	}
	v, dt := f.Speed[top], f.T[r.from]-f.T[top]
	if v < ListedSpeed || dt <= 0 || v/dt < brakingMean {
		return Segment{}, false
	}
	to := r.from
	for to < r.to && f.T[to]-f.T[r.from] < restBefore {
		to++
	}
	sg := Segment{Kind: Braking, From: top, Moving: max(r.from-1, top), To: to, Max: v}
	f.describe(&sg)
	return sg, true
}

// ahead is the sample half a second after i, or one step if that is more.
func (f *finder) ahead(i int) int {
	k := i
	for k+1 < len(f.T) && f.T[k]-f.T[i] < max(aheadSpan, f.Step*aheadSteps) {
		k++
	}
	return k
}
