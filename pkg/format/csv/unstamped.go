package csv

import (
	"slices"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// waiting is a row without a time stamp, until the next that has one.
type waiting struct {
	values []float64
	line   int
}

// wait keeps a row whose stamp is blank.
func (t *table) wait(f [][]byte, line int) {
	v := slices.Clone(t.values(f, line))
	if !slices.ContainsFunc(v, func(x float64) bool { return x == x }) {
		t.drop(line, diag.NoTime, "the row has neither a time nor a value")
		return
	}
	t.unstamped = append(t.unstamped, waiting{v, line})
}

// spread puts the rows that wait evenly between the last stamp and the next, at ns,
// where these are no further apart than a log that goes on.
func (t *table) spread(ns int64) {
	n := len(t.unstamped)
	if n == 0 {
		return
	}
	last, ok := t.steps.Last()
	if !ok || ns <= last || ns-last > int64(recording.Leap) {
		t.give(n)
		return
	}
	if t.spreadN == 0 {
		t.spreadAt = t.unstamped[0].line
	}
	t.spreadN += n
	for i, w := range t.unstamped {
		t.put(last+(ns-last)*int64(i+1)/int64(n+1), w.values, w.line)
	}
	t.unstamped = t.unstamped[:0]
}

// give drops the first n of the rows that wait.
func (t *table) give(n int) {
	for _, w := range t.unstamped[:n] {
		t.drop(w.line, diag.NoTime, "the row has no time, and none on either side to put it between")
	}
	t.unstamped = t.unstamped[n:]
}

// noteSpread tells of the rows that were spread.
func (t *table) noteSpread() {
	t.rec.Problems.AddMany(diag.Problem{Kind: "no-stamp", Effect: diag.Suspect, Line: t.spreadAt,
		Text: "a row without a time was put evenly between the stamps around it"}, t.spreadN)
}
