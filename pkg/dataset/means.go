package dataset

import (
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// meanRow is the mean of a mode's counted runs at a target.
type meanRow struct {
	Mode    string   `parquet:"mode,dict"`
	Name    string   `parquet:"target,dict"`
	From    string   `parquet:"from,dict"` // "rest" or "rollout"
	Runs    int32    `parquet:"runs"`      // counted, that reached the target
	Seconds *float64 `parquet:"seconds,optional" unit:"s"`
	U95     *float64 `parquet:"u95_s,optional" unit:"s"`
	TwoWay  bool     `parquet:"two_way"` // mean of the means of both directions
	OneWay  bool     `parquet:"one_way"` // all went one way: grade and wind are in it
}

// differenceRow is the comparison of two modes at a target.
type differenceRow struct {
	A       string   `parquet:"a,dict"`
	B       string   `parquet:"b,dict"`
	Name    string   `parquet:"target,dict"`
	From    string   `parquet:"from,dict"`
	Seconds *float64 `parquet:"seconds,optional" unit:"s"` // a less b, by the model
	U95     *float64 `parquet:"u95_s,optional" unit:"s"`
	P       *float64 `parquet:"p,optional"` // for all pairs of the target together
	Verdict string   `parquet:"verdict,dict"`
	Said    string   `parquet:"sentence"`
}

// everyPlace calls f for every target and origin that a result compares.
func everyPlace(res *session.Result, f func(target string, from timing.Origin)) {
	for _, target := range res.Settings.Targets {
		for _, from := range []timing.Origin{timing.FromRest, timing.FromRollout} {
			f(target, from)
		}
	}
}

func meanRows(res *session.Result) []meanRow {
	var out []meanRow
	groups := res.Groups()
	everyPlace(res, func(target string, from timing.Origin) {
		for i, m := range res.Means(groups, target, from) {
			if m.N > 0 {
				out = append(out, meanRow{groups[i].Name, target, string(from), int32(m.N), finite(m.X), finite(m.U95), m.TwoWay, m.OneWay})
			}
		}
	})
	return out
}

func differenceRows(res *session.Result) []differenceRow {
	var out []differenceRow
	everyPlace(res, func(target string, from timing.Origin) {
		t := res.At(target, from)
		if t == nil {
			return
		}
		for _, p := range t.Pairs {
			out = append(out, differenceRow{p.A, p.B, target, string(from), finite(p.Difference), finite(p.Half()), finite(p.PAdjusted), string(p.Verdict), p.Sentence})
		}
	})
	return out
}
