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
	kept := func(by *[numKinds]bool, kind, text string) {
		var names []string
		for k := kindOther + 1; k < kindIssue; k++ {
			if by[k] && a.types[k] > 0 {
				names = append(names, kindNames[k])
			}
		}
		if len(names) > 0 {
			a.rec.Problems.Addf(kind, diag.Suspect, 1, text, strings.Join(names, " and "))
		}
	}
	if a.pol.zdaOpens {
		where := "behind"
		if a.pol.vtgLeads {
			where = "before"
		}
		a.rec.Problems.Addf("vtg-order", diag.Suspect, 1, "only ZDA has a time: a VTG is taken for the instant of the ZDA that it stands %s", where)
	}
	kept(&a.pol.keepWrong, "checksum-type",
		"nearly every %s checksum is wrong while other sentences pass: the logger computes it wrongly, and they were kept")
	kept(&a.pol.keepMissing, "checksum-absent", "%s sentences are written without checksums: damage cannot be told, and they were kept")
}

// describe fills in the track's resolution, source and name.
func (a *assembler) describe() {
	if a.resolution(); a.track.Source == recording.Position {
		a.rec.Problems.Addf("position-only", diag.Note, 1,
			"the log has positions and no speed: speed must be derived from positions, which is less exact")
	}
}

// resolution is describe without a word on it.
func (a *assembler) resolution() {
	t := a.track
	t.TimeStep = time.Second / time.Duration(pow10[a.timeDec])
	// Each unit has the finest decimals that it is printed with; the unit of more
	// fixes is the log's.
	most, unit, dec := 0, knot, 0
	for u, byDecimals := range a.speeds {
		n := 0
		for d, count := range byDecimals {
			if n += count; count > 0 && n > most {
				most, unit, dec = n, [2]float64{knot, kmhUnit}[u], d
			}
		}
	}
	t.Name = a.trackName()
	if most == 0 {
		t.Source = recording.Position
		return
	}
	t.Source = recording.GNSS
	t.SpeedUnit, t.SpeedStep = unit, unit/pow10[dec]
}

// trackName is the sentence types that made the fixes, such as "RMC+VTG+GGA".
func (a *assembler) trackName() string {
	var n []string
	for _, k := range []kind{kindRMC, kindVTG, kindGGA, kindGNS, kindGLL, kindPUBX} {
		if a.types[k] > 0 {
			n = append(n, kindNames[k])
		}
	}
	return strings.Join(n, "+")
}

// noFix says why a log gave no fix at all.
func (a *assembler) noFix() error {
	n := 0
	for _, used := range a.types {
		n += used
	}
	timed := a.types[kindRMC] + a.types[kindGGA] + a.types[kindGNS] + a.types[kindGLL] + a.types[kindPUBX]
	switch {
	case n == 0 && a.pol.wrong > 0:
		return fmt.Errorf("no usable sentence: all %d checksums are wrong", a.counts[issueChecksum]+a.counts[issueChecksumOther])
	case n == 0:
		return errors.New("no NMEA sentence found")
	case timed == 0:
		return fmt.Errorf("no fix: none of %d sentences is RMC, GGA, GNS, GLL or PUBX,00", n)
	case a.counts[issueNoTime] > 0 && a.epochs == 0:
		return errors.New("no fix: no sentence has a time")
	}
	return fmt.Errorf("no fix: the receiver had none in any of %d sentences", timed)
}
