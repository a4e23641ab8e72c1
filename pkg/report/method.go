package report

import (
	"fromrest/pkg/recording"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
)

// Method says in plain words how the times of a result came about: paragraphs.
func Method(res *session.Result) []string {
	m := []string{
		"A run begins at the launch, the instant of first motion. It is not read off a sample. Speed, acceleration and distance are estimated together from all samples around the run, forwards and backwards in time, and the launch is the instant that explains them best. How far it could lie to either side is part of every time from rest.",
		"Times are given twice. From rest they count from the launch. With rollout they count from the instant the vehicle has covered 1 ft (0.3048 m, the initial vehicle movement of SAE J1491:2006), and distances are measured from there. With rollout a time is known better, because the slow first inches that a receiver hardly sees are not in it. The two are different quantities: compare like with like.",
		"The figure behind ± is half the width of an interval meant to hold the true value 95 times in 100. It covers the noise and the resolution of the log and what is not known about the launch. It does not cover wind, grade, temperature, fuel, driver or surface: those show in the scatter of repeated runs. A time is printed to the place its interval supports, two figures of the half-width.",
		"A mean is of counted runs only; where both directions were driven it is the mean of the two directions' means, so that grade and a steady wind drop out. Its interval comes from the scatter of the runs about their means. While the runs are too few to show their scatter it is joined with an allowance of " + trimZeros(compare.AllowanceShare*100, 1) + " % of the time, at least " + trimZeros(compare.AllowanceLeast, 2) + " s (common practice, from memory), and it is never less than the single intervals leave.",
		"A trap speed is the mean speed over the last 66 ft (20.12 m) before a distance mark.",
	}
	seen := map[recording.Source]bool{}
	for _, l := range res.Logs {
		seen[l.Quality.Source] = true
	}
	if seen[recording.Position] {
		m = append(m, "One or more logs carry no speed; it was derived from successive positions, which is much noisier than a receiver's own speed.")
	}
	if seen[recording.Wheel] {
		m = append(m, "One or more logs hold the speed of the wheels. Wheelspin reads as speed, and the tyre's rolling radius scales every value: such times say what the wheels did.")
	}
	if seen[recording.Inertial] {
		m = append(m, "One or more logs hold speed from an inertial solution, which was taken as it came.")
	}
	return m
}
