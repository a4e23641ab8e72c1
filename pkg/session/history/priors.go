package history

// How far days differ, beside what the runs of a day scatter.
const (
	DayShare = 0.0025 // 1; standard deviation of a day's mean as a share of the time. Origin: assumed, what a change of air of 1 % costs a quarter of.
	DayLeast = 0.01   // s; the least of it. Origin: assumed.
	rounds   = 3      // 1; times that the weights of days are worked out anew from what they differ by. Origin: assumed, more change nothing.
	dayDF    = 6.0    // 1; degrees of freedom that this is taken to rest on. Origin: assumed, between a guess and a season.
)
