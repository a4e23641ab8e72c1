package air

import (
	"fmt"
	"math"

	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Read says how well the source of a clause was read.
type Read string

// How a clause was read, best first.
const (
	ReadText    Read = "read"         // the procedure's text
	ReadSummary Read = "summary read" // a summary or another body's print of it
)

// Quantity is what a clause limits.
type Quantity string

// The quantities, in SI; shares are 0 to 1.
const (
	MeanWind    Quantity = "mean wind"     // m/s
	Gusts       Quantity = "gusts"         // m/s
	CrossWind   Quantity = "cross wind"    // m/s across the runs
	Grade       Quantity = "grade"         // rise over run, its size
	AirDensity  Quantity = "air density"   // kg/m³
	Temperature Quantity = "temperature"   // K
	Humidity    Quantity = "humidity"      // relative
	Directions  Quantity = "directions"    // 2 where both were driven
	RunsEachWay Quantity = "runs each way" // the smaller count
)

// Clause is one limit of a procedure: Lo ≤ value ≤ Hi, ends included unless
// Below is set, which leaves Hi itself out.
type Clause struct {
	Quantity Quantity
	Lo, Hi   float64 // -Inf and +Inf for none
	Below    bool
	Read     Read
}

// Profile is the conditions of one published procedure.
type Profile struct {
	Name   string
	About  string // what the procedure is for
	Source string
	Clause []Clause
}

// Verdict is what a profile says of one quantity.
type Verdict string

// The verdicts.
const (
	Inside   Verdict = "inside"
	Outside  Verdict = "outside"
	Marginal Verdict = "cannot tell" // the limit lies within the value's interval
	Unknown  Verdict = "not known"
)

// Finding is one clause judged.
type Finding struct {
	Clause  Clause
	Value   uncert.Value // NaN where not known
	Verdict Verdict
}

// Conditions are measured quantities; one that is missing is not known.
type Conditions map[Quantity]uncert.Value

// Check judges every clause of a profile. A value is inside or outside by itself
// where its uncertainty is 0; otherwise a limit that its 95 % interval holds
// makes the verdict Marginal.
func (p Profile) Check(c Conditions) []Finding {
	var out []Finding
	for _, cl := range p.Clause {
		v, ok := c[cl.Quantity]
		if !ok || math.IsNaN(v.X) {
			out = append(out, Finding{cl, uncert.Value{X: math.NaN()}, Unknown})
			continue
		}
		f := Finding{Clause: cl, Value: v, Verdict: Outside}
		lo, hi := cl.holds(v.X-v.U95()), cl.holds(v.X+v.U95())
		switch {
		case lo && hi:
			f.Verdict = Inside
		case lo || hi || cl.holds(v.X):
			f.Verdict = Marginal
		}
		out = append(out, f)
	}
	return out
}

// Overall is the worst finding: outside, then cannot tell, then not known.
func Overall(fs []Finding) Verdict {
	worst := Inside
	rank := map[Verdict]int{Inside: 0, Unknown: 1, Marginal: 2, Outside: 3}
	for _, f := range fs {
		if rank[f.Verdict] > rank[worst] {
			worst = f.Verdict
		}
	}
	return worst
}

// holds says whether x is within the clause.
func (c Clause) holds(x float64) bool {
	eps := lastBit * max(1, math.Abs(x))
	if c.Below {
		return x >= c.Lo-eps && x < c.Hi-eps
	}
	return x >= c.Lo-eps && x <= c.Hi+eps
}

// Text prints the clause as a limit, "mean wind at most 3 m/s".
func (c Clause) Text() string {
	per, name := 1.0, ""
	switch c.Quantity {
	case MeanWind, Gusts, CrossWind:
		name = " m/s"
	case Grade, Humidity:
		per, name = pct, " %"
	case AirDensity:
		name = " kg/m³"
	case Temperature:
		return fmt.Sprintf("temperature %.4g to %.4g °C", c.Lo-unit.ZeroCelsius, c.Hi-unit.ZeroCelsius)
	case Directions:
		return "runs in both directions"
	}
	lo, hi := math.IsInf(c.Lo, -1), math.IsInf(c.Hi, 1)
	switch {
	case hi:
		return fmt.Sprintf("%s at least %.4g%s", c.Quantity, c.Lo/per, name)
	case lo && c.Below:
		return fmt.Sprintf("%s below %.4g%s", c.Quantity, c.Hi/per, name)
	case lo:
		return fmt.Sprintf("%s at most %.4g%s", c.Quantity, c.Hi/per, name)
	}
	return fmt.Sprintf("%s %.5g to %.5g%s", c.Quantity, c.Lo/per, c.Hi/per, name)
}

func atMost(q Quantity, hi float64, r Read) Clause {
	return Clause{Quantity: q, Lo: math.Inf(-1), Hi: hi, Read: r}
}

func below(q Quantity, hi float64, r Read) Clause {
	return Clause{Quantity: q, Lo: math.Inf(-1), Hi: hi, Below: true, Read: r}
}

func atLeast(q Quantity, lo float64, r Read) Clause {
	return Clause{Quantity: q, Lo: lo, Hi: math.Inf(1), Read: r}
}

func celsius(lo, hi float64, r Read) Clause {
	return Clause{Quantity: Temperature, Lo: lo + unit.ZeroCelsius, Hi: hi + unit.ZeroCelsius, Read: r}
}

// Profiles lists the conditions of published procedures as far as they could be
// read. None of them is claimed to be met by passing: surface, instruments and
// averaging have clauses of their own.
func Profiles() []Profile { return profiles }

const kmh, mph, pct = unit.KMH, unit.MPH, 0.01

// What limits braking or the highest speed has no place beside an acceleration.
var profiles = []Profile{
	{"SAE J1263:2010", "coast-down", "summary read",
		[]Clause{atMost(MeanWind, 16*kmh, ReadSummary), atMost(CrossWind, 8*kmh, ReadSummary), below(Grade, 0.5*pct, ReadSummary),
			celsius(5, 35, ReadSummary), atLeast(Directions, 2, ReadSummary)}},
	{"SAE J2263", "coast-down with wind measured on board", "summary read; it corrects for wind and limits none here",
		[]Clause{atLeast(Directions, 2, ReadSummary)}},
	{"40 CFR 1066.310", "coast-down", "text read; a steeper grade is allowed if put into the analysis",
		[]Clause{atMost(MeanWind, 6*mph, ReadText), atMost(Grade, 0.02*pct, ReadText), atLeast(RunsEachWay, 8, ReadText)}},
	{"GB/T 12547-2009", "road tests of motor vehicles", "text read in translation",
		[]Clause{atMost(Grade, 0.1*pct, ReadText), atMost(MeanWind, 3, ReadText), below(Humidity, 0.95, ReadText), celsius(0, 40, ReadText)}},
}
