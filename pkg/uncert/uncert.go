// Package uncert holds a value with its standard uncertainty, combines
// uncertainties as the GUM does (JCGM 100:2008), and prints a result no finer
// than its uncertainty supports.
//
// U is a standard uncertainty (one standard deviation) unless a name says U95,
// which is the half-width of an interval meant to hold the truth 95 times in 100.
package uncert

import (
	"math"
	"strconv"
	"strings"
)

// Level is the probability that every interval of the program is meant to hold with.
const Level = 0.95

// Z95 is the two-sided 95 % quantile of the normal distribution.
const Z95 = 1.959963984540054

// Value is an estimate with its standard uncertainty, both in the same unit.
type Value struct {
	X float64
	U float64
}

// U95 is the half-width of the 95 % interval of a normal distribution.
func (v Value) U95() float64 { return Z95 * v.U }

// Combine is the root sum of squares of independent standard uncertainties
// (GUM 5.1.2 with sensitivity coefficients already applied).
func Combine(u ...float64) float64 {
	sum := 0.0
	for _, x := range u {
		sum += x * x
	}
	return math.Sqrt(sum)
}

// Rectangular is the standard uncertainty of a quantity known only to lie
// within ±half (GUM 4.3.7).
func Rectangular(half float64) float64 { return half / math.Sqrt(3) }

// Step is the standard uncertainty of a value printed in steps of q: q/√12.
func Step(q float64) float64 { return q / math.Sqrt(12) }

// Places returns how many decimals a value with the given 95 % half-width is
// printed with: to the second significant figure of the half-width. Without a
// usable half-width it returns fallback.
func Places(u95 float64, fallback int) int {
	if !(u95 > 0) || math.IsInf(u95, 0) {
		return fallback
	}
	e := int(math.Floor(math.Log10(u95)))
	p := max(1-e, 0)
	// 0.0996 to two figures is 0.10, one place coarser.
	s := RoundHalfUp(u95, p)
	if f, err := strconv.ParseFloat(s, 64); err == nil && f >= math.Pow(10, float64(e+1)) && p > 0 {
		p--
	}
	return p
}

// unknownPlaces is how many decimals a time is printed with where its
// uncertainty is not known: milliseconds, as the trade prints them.
const unknownPlaces = 3

// Format prints a value and its 95 % half-width by the rule of Places:
// Format(5.1176, 0.0312) is "5.118", "0.031". A half-width that is not a
// positive number comes out as "" with the value to three places.
func Format(x, u95 float64) (value, half string) {
	p := Places(u95, unknownPlaces)
	value = RoundHalfUp(x, p)
	if u95 > 0 && !math.IsInf(u95, 0) {
		half = RoundHalfUp(u95, p)
	}
	return value, half
}

// RoundHalfUp prints x with the given number of decimals, rounding half away
// from zero on the decimal digits a reader sees: 3.55 to one place is 3.6 though
// the nearest float64 lies below it.
func RoundHalfUp(x float64, places int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	neg := x < 0
	digits := strconv.FormatFloat(math.Abs(x), 'f', -1, 64)
	whole, frac, _ := strings.Cut(digits, ".")
	up := len(frac) > places && frac[places] >= '5'
	if len(frac) > places {
		frac = frac[:places]
	}
	frac += strings.Repeat("0", places-len(frac))
	n := []byte(whole + frac)
	if up {
		n = increment(n)
	}
	out := string(n)
	if places > 0 {
		out = out[:len(out)-places] + "." + out[len(out)-places:]
	}
	if neg && strings.Trim(out, "0.") != "" {
		out = "-" + out
	}
	return out
}

// increment adds one to a string of decimal digits.
func increment(n []byte) []byte {
	for i := len(n) - 1; i >= 0; i-- {
		if n[i] < '9' {
			n[i]++
			return n
		}
		n[i] = '0'
	}
	return append([]byte{'1'}, n...)
}
