package nmea

// window is how many sentences are looked at before rules that depend on the
// whole log are settled: which types to keep in spite of their checksums, and
// whether VTG stands before or after the sentences of its instant.
const window = 1 << 14

// policy is what the window settled.
type policy struct {
	keepWrong   [numKinds]bool // nearly all checksums of this type are wrong
	keepMissing [numKinds]bool // this type is written without checksums
	vtgLeads    bool           // VTG comes before the timed sentences of its instant
	right       int            // sentences with a right checksum
	wrong       int
	missing     int
}

// Fewest sentences of a type from which "nearly all wrong" is concluded, and
// what nearly all means.
const (
	enough    = 10
	nearlyAll = 0.95
)

// settle looks at the first sentences of the log.
func settle(first []sentence) (p policy) {
	var count [numKinds][3]int
	for i := range first {
		if s := &first[i]; s.kind != kindIssue {
			count[s.kind][s.sum]++
		}
	}
	for _, c := range count {
		p.right += c[sumRight]
		p.wrong += c[sumWrong]
		p.missing += c[sumMissing]
	}
	for k, c := range count {
		n := c[sumRight] + c[sumWrong] + c[sumMissing]
		if n == 0 {
			continue
		}
		// The others' sentences must pass, or the log is damaged, not the logger.
		otherRight := p.right - c[sumRight]
		otherWrong := p.wrong - c[sumWrong]
		sound := otherRight >= enough && float64(otherRight) >= 0.9*float64(otherRight+otherWrong)
		p.keepWrong[k] = n >= enough && float64(c[sumWrong]) >= nearlyAll*float64(n) && sound
		p.keepMissing[k] = n >= enough && float64(c[sumMissing]) >= nearlyAll*float64(n) ||
			p.right+p.wrong == 0
	}
	p.vtgLeads = vtgLeads(first)
	return p
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
	return lead > 2*follow+2
}

// same reports whether two sentences print the same speed, within the
// resolution of both and the 0.1 % by which receivers are known to disagree
// with themselves.
func same(a, b *sentence) bool {
	step := 0.5*speedStep(a) + 0.5*speedStep(b)
	d := a.speed - b.speed
	return d <= step+0.001*b.speed && -d <= step+0.001*b.speed
}

// speedStep is the step in which s prints speed, in m/s.
func speedStep(s *sentence) float64 {
	if s.flags&flagKMH != 0 {
		return kmhUnit / pow10[s.speedDec]
	}
	return knot / pow10[s.speedDec]
}
