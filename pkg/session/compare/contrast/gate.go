package contrast

// Gate lets a pair's claim of a difference stand at a place only where it stands at
// all places before: each is then tested at the full level, and the chance of any
// false claim over all places is that at the first (fixed-sequence testing;
// Maurer, Hothorn and Lehmacher, 1995). places are the claims of one session at
// its targets and origins, in the order declared for them. Equality is claimed at
// the first place alone, which its bound is stated for.
func Gate(places [][]Claim) {
	type pair struct{ a, b int }
	shut := map[pair]bool{}
	for i, claims := range places {
		for k := range claims {
			c := &claims[k]
			p := pair{c.A, c.B}
			if shut[p] {
				c.Differ = 0
			}
			if i > 0 {
				c.Equal = 0
			}
			shut[p] = shut[p] || c.Differ == 0
		}
	}
}
