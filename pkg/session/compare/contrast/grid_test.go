package contrast

import (
	"math"
	"math/rand/v2"
	"slices"
)

// factors are the levels of each factor of the grid.
var factors = []int{
	0:  3, // modes: 2, 3, 4
	1:  4, // runs: 2, 3, 5, 8
	2:  3, // counts: alike, the last or the first mode driven a third as often
	3:  3, // ratio of the widest scatter to the narrowest: 1, 2, 4
	4:  4, // where the wide one is: first, last, second, rising
	5:  4, // scatter: normal, t with 3 degrees of freedom, skewed, one outlier
	6:  3, // order: as planned, shuffled, blocks
	7:  3, // what a direction costs: nothing, 0.4 s, 0.8 s unequal by mode
	8:  3, // drift: none, along the order, curved
	9:  2, // the tester looks after every run
	10: 2, // one mode differs
	11: 3, // scatter: 0.3, 1, 3 % of the time
	12: 2, // and at the launch: 0.02, 0.12 s
}

// grid are cells in which every pair of levels of two factors occurs, and at least
// as many as asked for.
func grid(least int) []*cell {
	rng := rand.New(rand.NewPCG(12, 34))
	type pair [4]int
	left := map[pair]bool{}
	for a, na := range factors {
		for b := a + 1; b < len(factors); b++ {
			for i := range na {
				for j := range factors[b] {
					left[pair{a, i, b, j}] = true
				}
			}
		}
	}
	var cells []*cell
	for len(left) > 0 || len(cells) < least {
		// Of some random cells, the one with the most pairs not met yet.
		var best []int
		most := -1
		for range 20 {
			x := make([]int, len(factors))
			for f, n := range factors {
				x[f] = rng.IntN(n)
			}
			fresh := 0
			for a := range x {
				for b := a + 1; b < len(x); b++ {
					fresh += int(is(left[pair{a, x[a], b, x[b]}]))
				}
			}
			if fresh > most {
				best, most = x, fresh
			}
		}
		for a := range best {
			for b := a + 1; b < len(best); b++ {
				delete(left, pair{a, best[a], b, best[b]})
			}
		}
		cells = append(cells, cellOf(best))
	}
	return cells
}

// cellOf is the cell of some levels.
func cellOf(x []int) *cell {
	c := &cell{k: 2 + x[0], costs: 0.15, places: 6, looks: x[9] == 1,
		dist: []string{"normal", "t3", "skewed", "outlier"}[x[5]], order: []string{"plan", "shuffled", "blocks"}[x[6]]}
	n := []int{2, 3, 5, 8}[x[1]]
	short := max(2, n/3)
	c.n = slices.Repeat([]int{n}, c.k)
	switch x[2] {
	case 1:
		c.n[c.k-1] = short
	case 2:
		c.n[0] = short
	}
	sd := math.Hypot(7*[]float64{0.003, 0.01, 0.03}[x[11]], []float64{0.02, 0.12}[x[12]])
	ratio := []float64{1, 2, 4}[x[3]]
	for m := range c.k {
		s := 1.0
		if x[4] == 3 {
			s = math.Pow(ratio, float64(m)/float64(c.k-1))
		} else if m == []int{0, c.k - 1, 1}[x[4]] {
			s = ratio
		}
		c.sd = append(c.sd, sd*s)
	}
	c.ratio = ratio
	switch x[7] {
	case 1:
		c.ways = slices.Repeat([]float64{0.4}, c.k)
	case 2:
		for m := range c.k {
			c.ways = append(c.ways, 0.8-0.5*float64(m)/float64(c.k-1))
		}
	}
	c.drift, c.curve = []float64{0, 0.02, 0}[x[8]], []float64{0, 0, 0.3}[x[8]]
	if x[10] == 1 && c.k > 2 {
		c.shift = 2
	}
	return c
}
