package session

import (
	"math"
	"testing"
)

func TestWaysOfAGroup(t *testing.T) {
	g := Group{Name: "x"}
	for _, r := range []TimedRun{{HeadingDeg: 350}, {HeadingDeg: math.NaN(), Counted: true}, {HeadingDeg: 10, Counted: true}, {HeadingDeg: 355, Counted: true}, {HeadingDeg: 191, Counted: true}} {
		g.Runs = append(g.Runs, &r)
	}
	if h, same, other := g.Ways(); h != 10 || same != 3 || other != 1 || g.Counted() != 4 {
		t.Errorf("heading %v, %d and %d, %d counted", h, same, other, g.Counted())
	}
	if h, same, other := (Group{Runs: g.Runs[:2]}).Ways(); !math.IsNaN(h) || same != 1 || other != 0 {
		t.Errorf("heading %v, %d and %d", h, same, other)
	}
}
