package nmea

import "math"

// window is how many sentences are looked at before rules that depend on the
// whole log are settled: which types to keep in spite of their checksums, and
// whether VTG stands before or after the sentences of its instant.
const window = 1 << 14

// policy is what the window settled.
type policy struct {
	keepWrong   [numKinds]bool // nearly all checksums of this type are wrong
	keepMissing [numKinds]bool // this type is written without checksums
	zdaOpens    bool           // no sentence but ZDA has a time for VTG
	vtgLeads    bool           // VTG comes before the timed sentences of its instant
	wrong       int            // sentences with a wrong checksum
}

// When a type's checksums say something of the logger (assumed): from so many
// sentences on, where nearly all of them are wrong or missing, while most of the
// other types' pass.
const (
	enough    = 10
	nearlyAll = 0.95 // of the type
	sound     = 0.9  // of the others
)

// settle looks at the first sentences of the log.
func settle(first []sentence) policy {
	var count [numKinds][3]int
	var all [3]int
	for i := range first {
		if s := &first[i]; s.kind != kindIssue {
			count[s.kind][s.sum]++
			all[s.sum]++
		}
	}
	p := policy{wrong: all[sumWrong], vtgLeads: vtgLeads(first)}
	used := func(k kind) bool { return count[k][sumRight]+count[k][sumMissing] > 0 }
	if p.zdaOpens = used(kindZDA) && used(kindVTG) && !used(kindRMC) && !used(kindGGA) && !used(kindGNS) && !used(kindGLL) && !used(kindPUBX); p.zdaOpens {
		p.vtgLeads = firstIsVTG(first)
	}
	for k, c := range count {
		n := c[sumRight] + c[sumWrong] + c[sumMissing]
		nearly := func(x int) bool { return n >= enough && float64(x) >= nearlyAll*float64(n) }
		// The others' sentences must pass, or the log is damaged, not the logger.
		right, wrong := all[sumRight]-c[sumRight], all[sumWrong]-c[sumWrong]
		p.keepWrong[k] = nearly(c[sumWrong]) && right >= enough && float64(right) >= sound*float64(right+wrong)
		p.keepMissing[k] = nearly(c[sumMissing]) || all[sumRight]+all[sumWrong] == 0
	}
	return p
}

// firstIsVTG reports whether a VTG stands before the first ZDA: where these two are all
// there is, that is all there is to go by.
func firstIsVTG(first []sentence) bool {
	for i := range first {
		switch first[i].kind {
		case kindVTG:
			return true
		case kindZDA:
			return false
		}
	}
	return false
}

// vtgLeads compares each VTG that stands between two instants with the RMC on
// either side: the one whose speed it repeats is its own. Where nothing tells,
// VTG follows, as it does in most receivers.
func vtgLeads(first []sentence) bool {
	lead, follow := 0, 0
	var before, vtg *sentence
	for i := range first {
		s := &first[i]
		switch {
		case s.sum != sumRight || s.flags&(flagVoid|flagUnusable) != 0:
		case s.kind == kindVTG:
			vtg = s
		case s.kind == kindRMC && s.speed == s.speed:
			if before != nil && vtg != nil && vtg.speed == vtg.speed && before.tod != s.tod {
				a, b := same(vtg, before), same(vtg, s)
				if a && !b {
					follow++
				}
				if b && !a {
					lead++
				}
			}
			before, vtg = s, nil
		case s.kind == kindGGA || s.kind == kindGNS:
			// A VTG in front of another sentence of the RMC's instant is in its
			// middle, and says nothing.
			if before != nil && s.tod == before.tod {
				vtg = nil
			}
		}
	}
	return lead > 2*follow+2 // assumed: far more than chance would have it
}

// ownDisagreement is by how much a receiver's VTG and RMC of one instant differ
// beyond what they print, as a part of the speed (0.055 % in gpsd's log bt451).
const ownDisagreement = 0.001

// same reports whether two sentences print the same speed, within the
// resolution of both.
func same(a, b *sentence) bool {
	return math.Abs(a.speed-b.speed) <= (a.speedStep()+b.speedStep())/2+ownDisagreement*b.speed
}

// speedStep is the step in which s prints speed, in m/s.
func (s *sentence) speedStep() float64 {
	if s.flags&flagKMH != 0 {
		return kmhUnit / pow10[s.speedDec]
	}
	return knot / pow10[s.speedDec]
}
