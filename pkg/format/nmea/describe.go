package nmea

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// notePolicy says which sentences were kept in spite of their checksums.
func (a *assembler) notePolicy() {
	var wrong, missing []string
	for k := kindOther + 1; k < kindIssue; k++ {
		if a.types[k] == 0 {
			continue
		}
		if a.pol.keepWrong[k] {
			wrong = append(wrong, kindNames[k])
		}
		if a.pol.keepMissing[k] {
			missing = append(missing, kindNames[k])
		}
	}
	if len(wrong) > 0 {
		a.rec.Problems.Add(diag.Problem{Kind: "checksum-type", Effect: diag.Suspect, Line: 1, Text: fmt.Sprintf(
			"nearly every %s checksum is wrong while other sentences pass: the logger computes it wrongly, and they were kept",
			strings.Join(wrong, " and "))})
	}
	if len(missing) > 0 {
		a.rec.Problems.Add(diag.Problem{Kind: "checksum-absent", Effect: diag.Suspect, Line: 1, Text: fmt.Sprintf(
			"%s sentences are written without checksums: damage cannot be told, and they were kept",
			strings.Join(missing, " and "))})
	}
}

// describe fills in the track's resolution, source and name.
func (a *assembler) describe() {
	t := a.track
	t.TimeStep = time.Second
	for range a.timeDec {
		t.TimeStep /= 10
	}
	best, unit, dec := 0, 0, 0
	for u := range a.speeds {
		n := 0
		for d, c := range a.speeds[u] {
			if n += c; c > 0 && n > best {
				best, unit = n, u
				dec = d
			}
		}
	}
	t.Name = a.trackName()
	if best == 0 {
		t.Source = recording.Position
		a.rec.Problems.Add(diag.Problem{Kind: "position-only", Effect: diag.Note, Line: 1,
			Text: "the log has positions and no speed: speed must be derived from positions, which is less exact"})
		return
	}
	t.SpeedUnit = knot
	if unit == 1 {
		t.SpeedUnit = kmhUnit
	}
	t.SpeedStep = t.SpeedUnit / pow10[dec]
}

// trackName is the sentence types that made the fixes, such as "RMC+VTG+GGA".
func (a *assembler) trackName() string {
	var n []string
	for _, k := range []kind{kindRMC, kindVTG, kindGGA, kindGNS, kindGLL} {
		if a.types[k] > 0 {
			n = append(n, kindNames[k])
		}
	}
	return strings.Join(n, "+")
}

// noFix says why a log gave no fix at all.
func (a *assembler) noFix() error {
	n := 0
	for k := kindOther; k < kindIssue; k++ {
		n += a.types[k]
	}
	timed := a.types[kindRMC] + a.types[kindGGA] + a.types[kindGNS] + a.types[kindGLL]
	switch {
	case n == 0 && a.pol.wrong > 0:
		return fmt.Errorf("no usable sentence: all %d checksums are wrong", a.counts[issueChecksum]+a.counts[issueChecksumOther])
	case n == 0:
		return errors.New("no NMEA sentence found")
	case timed == 0:
		return fmt.Errorf("no fix: none of %d sentences is RMC, GGA, GNS or GLL", n)
	case a.counts[issueNoTime] > 0 && a.epochs == 0:
		return errors.New("no fix: no sentence has a time")
	}
	return fmt.Errorf("no fix: the receiver had none in any of %d sentences", timed)
}
