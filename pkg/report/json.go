package report

import (
	"io"
	"math"

	"fromrest/pkg/diag"
	"fromrest/pkg/document"
	"fromrest/pkg/motion/accel"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// RunsSchema names the JSON that RunsJSON writes. Fields may be added under the
// same number; a change of meaning raises it.
const RunsSchema = "fromrest.runs/1"

type jsonRuns struct {
	Schema   string        `json:"schema"`
	Logs     []jsonLog     `json:"logs"`
	Runs     []jsonRun     `json:"runs"`
	Copies   []jsonCopy    `json:"copies,omitempty"`
	Learned  []jsonLearned `json:"learned,omitempty"`
	Outside  *jsonOutside  `json:"outside,omitempty"`
	Warnings []string      `json:"warnings"`
	Failed   []jsonFailure `json:"failed,omitempty"`
	// Of a result that is kept, see StoredJSON.
	Verdicts []jsonVerdict `json:"verdicts,omitempty"`
	Vehicle  string        `json:"vehicle,omitempty"`
	Answer   []string      `json:"answer,omitempty"` // the verdicts in words
	Decides  *jsonDeciding `json:"decides,omitempty"`
	Scatter  []jsonScatter `json:"scatter,omitempty"`
	Settings jsonSettings  `json:"settings"`
}

// jsonDeciding is a target and where it counts from.
type jsonDeciding struct {
	Name string        `json:"name"`
	From timing.Origin `json:"from"`
}

type jsonSettings struct {
	document.Maker
	Units    string   `json:"units"`
	Targets  []string `json:"targets"`
	RolloutM *float64 `json:"rollout_m,omitempty"`
	All      bool     `json:"all"`
	// Positions is set where ways are in the output, as was asked.
	Positions bool `json:"positions,omitempty"`
}

type jsonFailure struct {
	Path string `json:"path"`
	Text string `json:"text"`
}

type jsonLog struct {
	Path       string         `json:"path"`
	Mode       string         `json:"mode,omitempty"`
	Format     string         `json:"format"`
	SHA256     string         `json:"sha256"`
	Clock      string         `json:"clock,omitempty"`
	Undated    bool           `json:"undated,omitempty"`
	Start      string         `json:"start_utc,omitempty"`
	End        string         `json:"end_utc,omitempty"`
	Source     string         `json:"speed_source,omitempty"`
	Track      string         `json:"track,omitempty"`
	RateHz     *float64       `json:"rate_hz,omitempty"`
	Fixes      int            `json:"fixes"`
	Gaps       int            `json:"gaps"`
	LongestGap *float64       `json:"longest_gap_s,omitempty"`
	SpeedNoise *float64       `json:"speed_noise_mps,omitempty"`
	NoiseFrom  string         `json:"speed_noise_from,omitempty"`
	SpeedStep  *float64       `json:"speed_step_mps,omitempty"`
	StaticHold *float64       `json:"static_hold_mps,omitempty"`
	HeldFor    *float64       `json:"held_s,omitempty"`
	Smoothing  *jsonSmoothing `json:"smoothing,omitempty"`
	Accel      string         `json:"accelerometer,omitempty"`
	// Alignment is how the accelerometer sits and on whose clock.
	Alignment *jsonAlignment `json:"accelerometer_alignment,omitempty"`
	Problems  []jsonProblem  `json:"problems"`
}

// jsonSmoothing is how the receiver smooths speed.
type jsonSmoothing struct {
	Delay   *float64 `json:"delay_s" jsonschema:"nullable"`
	U95     *float64 `json:"delay_u95_s" jsonschema:"nullable"`
	Likely  *float64 `json:"probability" jsonschema:"nullable"`
	Filter  string   `json:"filter"`
	Stops   int      `json:"stops"`
	Starts  int      `json:"starts"`
	Most    *float64 `json:"allowed_for_s" jsonschema:"nullable"`
	Logs    int      `json:"logs"`
	Profile string   `json:"profile,omitempty"`
}

func smoothingJSON(sm *session.Smoothing) *jsonSmoothing {
	if sm == nil {
		return nil
	}
	return &jsonSmoothing{number(sm.Delay), number(sm.U95), number(sm.Likely), sm.Filter, sm.Stops, sm.Starts, number(sm.Most), sm.Logs, sm.Profile.String()}
}

type jsonProblem struct {
	Kind   string      `json:"kind"`
	Effect diag.Effect `json:"effect"`
	Count  int         `json:"count"`
	First  jsonPlace   `json:"first"`
	Text   string      `json:"text"`
}

// jsonPlace has a line, or a byte where the input has no lines.
type jsonPlace struct {
	Line int    `json:"line,omitempty"`
	Byte *int64 `json:"byte,omitempty"`
}

type jsonRun struct {
	ID         string       `json:"id"`
	Log        string       `json:"log"`
	Mode       string       `json:"mode"`
	Kind       segment.Kind `json:"kind"`
	Launch     jsonLaunch   `json:"launch"`
	HeadingDeg *float64     `json:"heading_deg,omitempty"`
	MaxSpeed   *float64     `json:"max_speed_mps,omitempty"`
	PeakAccel  *float64     `json:"peak_acceleration_mps2,omitempty"`
	PeakU95    *float64     `json:"peak_acceleration_u95_mps2,omitempty"`
	RolloutS   *float64     `json:"rollout_s,omitempty"`
	RolloutU95 *float64     `json:"rollout_u95_s,omitempty"`
	Counted    bool         `json:"counted"`
	Excluded   string       `json:"excluded,omitempty"`
	Witness    *jsonWitness `json:"witness,omitempty"`
	Flags      []jsonFlag   `json:"flags"`
	Times      []jsonTime   `json:"times"`
	Pulls      []jsonTime   `json:"pulls,omitempty"`
	Stop       *jsonStop    `json:"stop,omitempty"`
	Stretch    int          `json:"stretch,omitempty"` // of ground that it began on, 0 for the session's
	Halt       *jsonHalt    `json:"halt,omitempty"`
	Way        *jsonWay     `json:"way,omitempty"` // only with --with-positions
}

// jsonHalt is how a run came to rest.
type jsonHalt struct {
	Speed *float64 `json:"speed_mps,omitempty"`
	Way   *float64 `json:"way_m,omitempty"`   // from the launch
	After *float64 `json:"after_m,omitempty"` // from the highest speed
}

// jsonWay is where a run went, from its start line.
type jsonWay struct {
	T      []float64 `json:"t_s"`
	Along  []float64 `json:"along_m"`
	Across []float64 `json:"across_m"` // to the right
	U95    *float64  `json:"u95_m,omitempty"`
}

type jsonLaunch struct {
	UTC    string   `json:"utc"`
	SD     *float64 `json:"sd_s,omitempty"`
	IntoIt *float64 `json:"log_s,omitempty"`
}

type jsonFlag struct {
	Code string `json:"code"`
	Text string `json:"text"`
}

type jsonTime struct {
	Name      string        `json:"name"`
	From      timing.Origin `json:"from"`
	Seconds   *float64      `json:"seconds,omitempty"`
	U95       *float64      `json:"u95_s,omitempty"`
	TrapSpeed *float64      `json:"trap_speed_mps,omitempty"`
	TrapU95   *float64      `json:"trap_u95_mps,omitempty"`
	EndSpeed  *float64      `json:"end_speed_mps,omitempty"`
	EndU95    *float64      `json:"end_u95_mps,omitempty"`
	Distance  *float64      `json:"distance_m,omitempty"`
	Counted   bool          `json:"counted"`
	Flags     []string      `json:"flags,omitempty"` // codes of those that lie before its end
	Doubt     string        `json:"doubt,omitempty"`
	Reason    string        `json:"reason,omitempty"` // why there is no time
}

type jsonStop struct {
	InitialSpeed *float64 `json:"initial_speed_mps,omitempty"`
	Distance     *float64 `json:"distance_m,omitempty"`
	U95          *float64 `json:"u95_m,omitempty"`
	Nominal      *float64 `json:"nominal_speed_mps,omitempty"`
	Corrected    *float64 `json:"corrected_m,omitempty"`
	CorU95       *float64 `json:"corrected_u95_m,omitempty"`
	MFDD         *float64 `json:"mfdd_mps2,omitempty"`
	MFDDU95      *float64 `json:"mfdd_u95_mps2,omitempty"`
	Seconds      *float64 `json:"seconds,omitempty"`
	SecU95       *float64 `json:"u95_s,omitempty"`
}

// jsonLearned is what launches taught each other of the build-up of thrust, to 95 %.
type jsonLearned struct {
	Mode string   `json:"mode,omitempty"`
	Runs []string `json:"runs"`
	Tau  *float64 `json:"build_up_s" jsonschema:"nullable"`
	Low  *float64 `json:"lo_s" jsonschema:"nullable"`
	High *float64 `json:"hi_s" jsonschema:"nullable"`
}

func learnedJSON(l session.Learned) jsonLearned {
	return jsonLearned{l.Mode, l.Runs, number(l.Tau), number(l.Low), number(l.High)}
}

// RunsJSON writes the result as JSON of schema RunsSchema. A number that is not
// known is left out; NaN is never written.
func RunsJSON(w io.Writer, res *session.Result) error {
	return document.WriteJSONList(w, aroundRuns(res), "runs", func(yield func(jsonRun) bool) {
		for _, r := range res.Runs {
			if !yield(runOf(res)(r)) {
				return
			}
		}
	})
}

func runsJSON(res *session.Result) jsonRuns {
	j := aroundRuns(res)
	j.Runs = each(res.Runs, runOf(res))
	return j
}

// aroundRuns is all but the runs.
func aroundRuns(res *session.Result) jsonRuns {
	set := &res.Settings
	return jsonRuns{Schema: RunsSchema, Logs: each(res.Logs, logJSON), Runs: []jsonRun{},
		Copies: each(res.Copies, copyJSON), Learned: each(res.Learned, learnedJSON), Outside: outsideJSON(res), Warnings: never(res.Warnings), Failed: each(res.Failed, failureJSON),
		Settings: jsonSettings{Maker: made(set), Units: set.Units, Targets: never(set.Targets), RolloutM: number(set.Rollout), All: set.All, Positions: set.Positions}}
}

// each is the wire form of every element, never null.
func each[T, W any](all []T, wire func(T) W) []W {
	out := make([]W, len(all))
	for i, x := range all {
		out[i] = wire(x)
	}
	return out
}

// never is a list that is never null on the wire.
func never(list []string) []string { return append([]string{}, list...) }

func failureJSON(f *session.InputError) jsonFailure {
	return jsonFailure{Path: f.Called(), Text: f.Cause()}
}

func logJSON(l *session.Log) jsonLog {
	q := &l.Quality
	j := jsonLog{Path: l.Path, Mode: l.Mode, Format: l.Format, SHA256: l.SHA256,
		Clock: l.Clock, Undated: l.Undated, Source: string(q.Source), Track: q.Track,
		RateHz: number(q.Rate), Fixes: q.Fixes, Gaps: q.Gaps, LongestGap: positive(q.LongestGap),
		SpeedNoise: positive(q.SpeedNoise), NoiseFrom: q.NoiseFrom, SpeedStep: positive(q.SpeedStep),
		StaticHold: positive(q.StaticHold), HeldFor: positive(q.HeldFor), Smoothing: smoothingJSON(q.Smoothing), Accel: q.Accel, Alignment: alignmentJSON(q.Alignment),
		Problems: []jsonProblem{}}
	if !l.Start.IsZero() || l.Undated {
		j.Start, j.End = utc(l.Start), utc(l.End)
	}
	if l.Problems != nil {
		j.Problems = each(l.Problems.Groups(), problemJSON)
	}
	return j
}

func problemJSON(g *diag.Group) jsonProblem {
	p := g.First()
	place := jsonPlace{Line: p.Line}
	if p.Line == 0 {
		place.Byte = &p.Byte
	}
	return jsonProblem{g.Kind, g.Effect, g.Count, place, p.Text}
}

// runOf makes runs of a result, with their ways where these were asked for.
func runOf(res *session.Result) func(*session.TimedRun) jsonRun {
	if !res.Settings.Positions {
		return runJSON
	}
	return func(r *session.TimedRun) jsonRun {
		j := runJSON(r)
		if t, x, y := r.Line(); len(t) > 0 {
			j.Way = &jsonWay{micros(t), micros(x), micros(y), number(uncert.Z95 * r.Ground.U)}
		}
		return j
	}
}

// micros are numbers to a millionth.
func micros(col []float64) []float64 {
	return each(col, func(x float64) float64 { return math.Round(x*1e6) / 1e6 })
}

func runJSON(r *session.TimedRun) jsonRun {
	j := jsonRun{ID: r.ID, Mode: r.Mode, Kind: r.Kind,
		Launch:     jsonLaunch{UTC: utc(r.Launch), SD: number(r.LaunchSD), IntoIt: number(r.LogSeconds)},
		HeadingDeg: number(r.HeadingDeg), MaxSpeed: number(r.MaxSpeed),
		PeakAccel: positive(r.PeakAccel), PeakU95: positive(r.PeakAccelU95),
		RolloutS: positive(r.Rollout), RolloutU95: positive(r.RolloutU95),
		Counted: r.Counted, Excluded: r.Excluded, Stretch: r.Stretch, Witness: witnessJSON(r), Times: each(r.Times, timeJSON(r)), Pulls: each(r.Pulls, timeJSON(r)),
		Flags: each(r.Flags, func(f segment.Flag) jsonFlag { return jsonFlag{f.Code, f.Text} })}
	if r.Log != nil {
		j.Log = r.Log.Path
	}
	if h := &r.Halt; h.End > 0 {
		j.Halt = &jsonHalt{number(h.Speed), number(h.Way), number(h.After)}
	}
	if s := r.Stop; s != nil {
		j.Stop = &jsonStop{number(s.InitialSpeed), number(s.Distance), number(s.U95), positive(s.Nominal),
			number(s.Corrected), number(s.CorU95), number(s.MFDD), number(s.MFDDU95), number(s.Seconds), number(s.SecU95)}
	}
	return j
}

func timeJSON(r *session.TimedRun) func(timing.Time) jsonTime {
	return func(t timing.Time) jsonTime {
		return jsonTime{Name: t.Name, From: t.From, Seconds: number(t.Seconds), U95: number(t.U95),
			TrapSpeed: positive(t.TrapSpeed), TrapU95: positive(t.TrapU95),
			EndSpeed: positive(t.EndSpeed), EndU95: positive(t.EndU95),
			Distance: positive(t.Distance), Counted: r.Counts(&t), Flags: t.Flags, Doubt: t.Doubt, Reason: t.Reason}
	}
}

// positive is a number for a quantity whose zero means "not known" or "none".
func positive(x float64) *float64 {
	if !(x > 0) {
		return nil
	}
	return number(x)
}

// number is a number to a millionth, nil where it is not finite.
var number = document.Micro

// jsonAlignment is an alignment on the wire; u95 are halves of 95 % intervals.
type jsonAlignment struct {
	Used        bool       `json:"used"`
	Reason      string     `json:"reason,omitempty"`
	RateHz      *float64   `json:"rate_hz,omitempty"`
	Up          [3]float64 `json:"up"`
	Forward     [3]float64 `json:"forward"`
	Gravity     *float64   `json:"gravity_mps2,omitempty"`
	Gain        *float64   `json:"gain,omitempty"`
	GainU95     *float64   `json:"gain_u95,omitempty"`
	Bias        *float64   `json:"bias_mps2,omitempty"`
	BiasU95     *float64   `json:"bias_u95_mps2,omitempty"`
	Offset      *float64   `json:"clock_offset_s,omitempty"`
	OffsetU95   *float64   `json:"clock_offset_u95_s,omitempty"`
	Drift       *float64   `json:"clock_drift,omitempty"`
	DriftU95    *float64   `json:"clock_drift_u95,omitempty"`
	Correlation *float64   `json:"correlation,omitempty"`
	Rest        *float64   `json:"vibration_rest_mps2,omitempty"`
	Moving      *float64   `json:"vibration_moving_mps2,omitempty"`
	Clipped     int        `json:"clipped"`
	Gaps        int        `json:"gaps"`
}

func alignmentJSON(al *accel.Alignment) *jsonAlignment {
	if al == nil {
		return nil
	}
	j := &jsonAlignment{Used: al.Reason == "", Reason: al.Reason, RateHz: positive(al.Rate), Up: al.Up, Forward: al.Forward,
		Gravity: positive(al.Gravity), Clipped: al.Clipped, Gaps: al.Gaps}
	if !j.Used {
		return j
	}
	j.Gain, j.GainU95 = number(al.Gain.X), positive(al.Gain.U95())
	j.Bias, j.BiasU95 = number(al.Bias.X), positive(al.Bias.U95())
	j.Offset, j.OffsetU95 = number(al.Offset.X), positive(al.Offset.U95())
	if al.Drift.U > 0 {
		j.Drift, j.DriftU95 = number(al.Drift.X), positive(al.Drift.U95())
	}
	j.Correlation, j.Rest, j.Moving = number(al.Correlation), positive(al.Rest), positive(al.Moving)
	return j
}
