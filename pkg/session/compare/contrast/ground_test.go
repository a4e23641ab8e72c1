package contrast

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Runs on another stretch lead to no more false claims than others do, however much quicker its
// surface is: in 2,000 sessions of equal modes of each kind at most 5 in 100 beside what drawing
// leaves open. What the stretch takes out is not taken from the difference.
func TestStretchesKeepTheErrorRate(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 9))
	for name, on := range map[string]func(i int) bool{
		"one run":         func(i int) bool { return i == 5 },
		"the second half": func(i int) bool { return i >= 8 },
		"two runs":        func(i int) bool { return i == 2 || i == 11 },
	} {
		l := &Layout{Modes: 2}
		for i := range 16 {
			l.Mode, l.Way = append(l.Mode, [4]int{0, 1, 1, 0}[i%4]), append(l.Way, float64(i%2)-.5)
			l.Ground = append(l.Ground, int(is(on(i))))
		}
		course := NewCourse(l, nil, Plan{Final: true})
		if !slices.Contains(course.Now.Terms, "stretch") {
			t.Fatalf("%s: terms %v, not %v", name, course.Now.Terms, course.Now.Dropped)
		}
		known, false1 := &Known{}, 0
		const sessions = 2000
		for range sessions {
			times := make([]float64, 16)
			for i := range times {
				times[i] = 7 + .06*rng.NormFloat64() - .5*is(on(i))
			}
			if course.Claims(times, known, 0)[0].Differ > 0 {
				false1++
			}
		}
		if rate, most := float64(false1)/sessions, Alpha+3*math.Sqrt(Alpha*(1-Alpha)/sessions); rate > most {
			t.Errorf("%s on a stretch that is 0.5 s quicker: %.1f in 100 sessions claim a difference of equal modes", name, 100*rate)
		}
		exact := make([]float64, 16)
		for i := range exact {
			exact[i] = 7 - .5*is(on(i)) + .3*float64(l.Mode[i])
		}
		near(t, name+": difference", course.Now.Fit(exact, known, nil).Of(course.Now.Pairs()[0]).Value, -.3, 1e-9)
	}
}

// Modes that share no stretch cannot be told from their surfaces.
func TestModesOnStretchesOfTheirOwn(t *testing.T) {
	l := &Layout{Modes: 2}
	for i := range 8 {
		l.Mode, l.Way, l.Ground = append(l.Mode, [4]int{0, 1, 1, 0}[i%4]), append(l.Way, float64(i%2)-.5), append(l.Ground, [4]int{0, 1, 1, 0}[i%4])
	}
	if d := NewDesign(l, 0); d.Pairs()[0].Refused == "" {
		t.Errorf("terms %v", d.Terms)
	}
}
