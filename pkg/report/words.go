package report

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"fromrest/pkg/document"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// plural is a number of things: "1 run", "2 runs".
func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// and joins words: "a, b and c".
func and(words []string) string {
	switch len(words) {
	case 0:
		return "nothing"
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// said leaves out of some texts those that are empty.
func said(texts ...string) []string {
	return slices.DeleteFunc(texts, func(s string) bool { return s == "" })
}

// filled leaves out of some terms those without a text.
func filled(terms ...document.Term) []document.Term {
	return only(terms, func(t document.Term) bool { return t.Text != "" })
}

// moreLess tells the sign of a difference.
func moreLess(d float64) string {
	if d < 0 {
		return "less"
	}
	return "more"
}

// utc prints an instant as the JSON contract wants it.
func utc(t time.Time) string { return t.UTC().Format("2006-01-02T15:04:05.000000Z") }

// duration prints a time in s, or in minutes or hours where it is longer.
func duration(d time.Duration) string {
	s := d.Seconds()
	switch {
	case s < 120:
		return trimZeros(s, 1) + " s"
	case s < 7200:
		return fmt.Sprintf("%d min %d s", int(s)/60, int(s)%60)
	}
	return fmt.Sprintf("%d h %d min", int(s)/3600, int(s)/60%60)
}

// trimZeros prints x to at most the given places without trailing zeros.
func trimZeros(x float64, places int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "?"
	}
	s := uncert.RoundHalfUp(x, places)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// figures prints x to n significant figures.
func figures(x float64, n int) string {
	if !(x > 0) || math.IsInf(x, 0) {
		return "0"
	}
	return uncert.RoundHalfUp(x, max(0, n-1-int(math.Floor(math.Log10(x)))))
}

// half prints the half-width of a time alone, to two significant figures.
func half(u float64) string {
	if !(u > 0) || math.IsInf(u, 0) {
		return "?"
	}
	return "±" + uncert.RoundHalfUp(u, uncert.Places(u, 3)) + " s"
}

// plusMinus prints a value with its half-width, "" where there is none.
func plusMinus(x, u95 float64) string {
	if math.IsNaN(x) {
		return ""
	}
	v, h := uncert.Format(x, u95)
	if h == "" {
		return v
	}
	return v + " ±" + h
}

// scaled prints a value over its unit with half of the 95 % interval.
func scaled(v uncert.Value, per float64) string { return plusMinus(v.X/per, v.U95()/per) }

// finestHalf is the half-width below which a third place is all that a table of
// the explanation shows.
const finestHalf = 0.01

// inTable prints a value over its unit for a table of the explanation: with its
// half-width, to three places at most, signed where that is wanted.
func inTable(v uncert.Value, per float64, sign bool) string {
	if math.IsNaN(v.X) {
		return document.Unknown
	}
	x, u95 := v.X/per, v.U95()/per
	s := plusMinus(x, u95)
	if u95 > 0 && u95 < finestHalf {
		s = uncert.RoundHalfUp(x, 3) + " ±" + uncert.RoundHalfUp(max(u95, 0.001), 3)
	}
	number, _, _ := strings.Cut(s, " ")
	if sign && !strings.HasPrefix(s, "-") && strings.Trim(number, "0.") != "" {
		s = "+" + s
	}
	return s
}

// made is what made numbers, as JSON and tables hold it.
func made(s *session.Settings) document.Maker {
	return document.Maker{Version: s.Version, Model: s.Model}
}

// madeBy is the last line of a document: what made its numbers.
func madeBy(s *session.Settings) document.Paragraph {
	return document.Paragraph{Text: s.MadeBy(), Kind: document.Remark}
}
