// Package dataset writes results as data sets for other programs: runs, times, traces,
// means and differences as Parquet, each a folder with a partition for every session, as query
// engines expect. A number that is not known is null, never zero; units are in the
// metadata. docs/analysts.md describes the columns.
package dataset

import (
	"cmp"
	"fmt"
	"iter"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"github.com/parquet-go/parquet-go"

	"fromrest/pkg/session"
)

// Schema names the layout of the data sets that Write writes. It
// is in the metadata of each file under "schema", beside a key such as
// "unit:seconds" for each column with a unit.
const Schema = "fromrest.parquet/1"

// The rows of the data sets. A number that is not known is null, never zero.

type runRow struct {
	Run       string   `parquet:"run,dict"`
	Log       string   `parquet:"log,dict"`
	LogSHA256 string   `parquet:"log_sha256,dict"`
	Mode      string   `parquet:"mode,dict"`
	Kind      string   `parquet:"kind,dict"`
	Launch    *int64   `parquet:"launch_utc,optional,timestamp(microsecond)"` // null without a date
	LaunchSD  *float64 `parquet:"launch_sd_s,optional" unit:"s"`
	LogTime   *float64 `parquet:"log_time_s,optional" unit:"s"` // launch, from the log's first fix
	Heading   *float64 `parquet:"heading_deg,optional" unit:"deg"`
	MaxSpeed  *float64 `parquet:"max_speed_mps,optional" unit:"m/s"`
	Peak      *float64 `parquet:"peak_acceleration_mps2,optional" unit:"m/s2"`
	PeakU95   *float64 `parquet:"peak_acceleration_u95_mps2,optional" unit:"m/s2"`
	Rollout   *float64 `parquet:"rollout_s,optional" unit:"s"`
	RollU95   *float64 `parquet:"rollout_u95_s,optional" unit:"s"`
	Counted   bool     `parquet:"counted"`
	Excluded  string   `parquet:"excluded"`
	WitnessOf string   `parquet:"witness_of,dict"` // the run that counts for the same drive
	Flags     string   `parquet:"flags"`           // codes, separated by blanks
	Version   string   `parquet:"version,dict"`
	Model     *int32   `parquet:"model,optional"` // null in files of the first edition
}

type timeRow struct {
	Run       string   `parquet:"run,dict"`
	Mode      string   `parquet:"mode,dict"`
	Counted   bool     `parquet:"counted"`
	Name      string   `parquet:"target,dict"`
	From      string   `parquet:"from,dict"` // "rest", "rollout" or "speed"
	Seconds   *float64 `parquet:"seconds,optional" unit:"s"`
	U95       *float64 `parquet:"u95_s,optional" unit:"s"`
	Trap      *float64 `parquet:"trap_speed_mps,optional" unit:"m/s"`
	TrapU95   *float64 `parquet:"trap_u95_mps,optional" unit:"m/s"`
	End       *float64 `parquet:"end_speed_mps,optional" unit:"m/s"`
	EndU95    *float64 `parquet:"end_u95_mps,optional" unit:"m/s"`
	Distance  *float64 `parquet:"distance_m,optional" unit:"m"`
	DoubtCode string   `parquet:"doubt,dict"`
	Reason    string   `parquet:"reason,dict"` // why there is no time
}

type traceRow struct {
	Run string   `parquet:"run,dict"`
	T   float64  `parquet:"t_s" unit:"s"` // since the launch
	S   *float64 `parquet:"s_m,optional" unit:"m"`
	V   *float64 `parquet:"v_mps,optional" unit:"m/s"`
	A   *float64 `parquet:"a_mps2,optional" unit:"m/s2"`
	SDS *float64 `parquet:"s_sd_m,optional" unit:"m"`
	SDV *float64 `parquet:"v_sd_mps,optional" unit:"m/s"`
	SDA *float64 `parquet:"a_sd_mps2,optional" unit:"m/s2"`
	// Where it went from its start line, along its heading and to the right of it: null unless asked for.
	Along  *float64 `parquet:"along_m,optional" unit:"m"`
	Across *float64 `parquet:"across_m,optional" unit:"m"`
}

// Write writes a result as one partition of five data sets under dir:
// runs, times, traces, means and differences, each in a folder session=NAME as query engines expect.
// A partition of the same name is replaced, file by file and each at once. It
// returns the files written. docs/analysts.md describes the columns.
func Write(dir, name string, res *session.Result) ([]string, error) {
	part := "session=" + PartitionName(name)
	var files []string
	for _, set := range []struct {
		name  string
		write func(dir string) (string, error)
	}{
		{"runs", func(dir string) (string, error) {
			return writeRows(dir, res, func(r *session.TimedRun) ([]runRow, error) { return []runRow{toRunRow(r, &res.Settings)}, nil })
		}},
		{"times", func(dir string) (string, error) { return writeRows(dir, res, timeRows) }},
		{"traces", func(dir string) (string, error) { return writeRows(dir, res, traces(&res.Settings)) }},
		{"means", func(dir string) (string, error) { return writeAll(dir, res, at(meanRows(res))) }},
		{"differences", func(dir string) (string, error) {
			return writeAll(dir, res, at(differenceRows(res)))
		}},
	} {
		path, err := set.write(filepath.Join(dir, set.name, part))
		if err != nil {
			return files, err
		}
		files = append(files, path)
	}
	return files, nil
}

// PartitionName makes of a session's name what every query engine takes as the
// value of a partition.
func PartitionName(name string) string {
	name = strings.Trim(strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("-_.", r) {
			return r
		}
		return '_'
	}, name), "_.")
	if name == "" {
		return "unnamed"
	}
	return name
}

func timeRows(r *session.TimedRun) ([]timeRow, error) {
	var out []timeRow
	for _, t := range slices.Concat(r.Times, r.Pulls) {
		out = append(out, timeRow{Run: r.ID, Mode: r.Mode, Counted: r.Counted, Name: t.Name, From: string(t.From),
			Seconds: finite(t.Seconds), U95: finite(t.U95), Trap: finite(t.TrapSpeed), TrapU95: finite(t.TrapU95),
			End: finite(t.EndSpeed), EndU95: finite(t.EndU95), Distance: finite(t.Distance), DoubtCode: t.Doubt, Reason: t.Reason})
	}
	return out, nil
}

func toRunRow(r *session.TimedRun, by *session.Settings) runRow {
	model := int32(by.Model)
	row := runRow{Run: r.ID, Mode: r.Mode, Kind: string(r.Kind), LaunchSD: finite(r.LaunchSD), LogTime: finite(r.LogSeconds),
		Heading: finite(r.HeadingDeg), MaxSpeed: finite(r.MaxSpeed), Peak: finite(r.PeakAccel), PeakU95: finite(r.PeakAccelU95),
		Rollout: finite(r.Rollout), RollU95: finite(r.RolloutU95), Counted: r.Counted, Excluded: r.Excluded, Version: by.Version, Model: &model}
	if r.Log != nil {
		row.Log, row.LogSHA256 = r.Log.Path, r.Log.SHA256
		if !r.Log.Undated && r.Log.Clock != "elapsed" {
			us := r.Launch.UnixMicro()
			row.Launch = &us
		}
	}
	if r.WitnessOf != nil {
		row.WitnessOf = r.WitnessOf.ID
	}
	var flags []string
	for _, f := range r.Flags {
		flags = append(flags, f.Code)
	}
	row.Flags = strings.Join(flags, " ")
	return row
}

// traceRows are a run's trace; that of a long log is in memory for no longer.
func traceRows(r *session.TimedRun) ([]traceRow, error) {
	r, err := r.Whole()
	if err != nil {
		return nil, err
	}
	at := func(col []float64, i int) *float64 {
		if i >= len(col) {
			return nil
		}
		return finite(col[i])
	}
	tr := &r.Trace
	out := make([]traceRow, tr.Len())
	for i, t := range tr.T {
		out[i] = traceRow{Run: r.ID, T: t, S: at(tr.S, i), V: at(tr.V, i), A: at(tr.A, i), SDS: at(tr.SS, i), SDV: at(tr.SV, i), SDA: at(tr.SA, i)}
	}
	return out, nil
}

// traces are the rows of traces, with positions from the start line where these were asked for.
func traces(by *session.Settings) func(*session.TimedRun) ([]traceRow, error) {
	if !by.Positions {
		return traceRows
	}
	return func(r *session.TimedRun) ([]traceRow, error) {
		rows, err := traceRows(r)
		if err != nil {
			return nil, err
		}
		w, _ := r.Whole() // it was just there
		ts, xs, ys := w.Line()
		for i := range rows {
			k, _ := slices.BinarySearch(ts, rows[i].T)
			if k > 0 && k < len(ts) {
				f := (rows[i].T - ts[k-1]) / (ts[k] - ts[k-1])
				rows[i].Along, rows[i].Across = finite(xs[k-1]+f*(xs[k]-xs[k-1])), finite(ys[k-1]+f*(ys[k]-ys[k-1]))
			}
		}
		return rows, nil
	}
}

// finite is x, or nil where it is not a number.
func finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

// rowGroup is how many rows are held before they are written.
const rowGroup = 1 << 17

// writeRows writes the rows that each run gives, run by run.
func writeRows[T any](dir string, res *session.Result, rows func(*session.TimedRun) ([]T, error)) (string, error) {
	return writeAll(dir, res, func(yield func([]T, error) bool) {
		for _, r := range res.Runs {
			if !yield(rows(r)) {
				return
			}
		}
	})
}

// at is rows that are there all at once.
func at[T any](rows []T) iter.Seq2[[]T, error] {
	return func(yield func([]T, error) bool) { yield(rows, nil) }
}

// writeAll writes rows of a result, some at a time, into a file beside its final name
// and puts it there at once.
func writeAll[T any](dir string, res *session.Result, rows iter.Seq2[[]T, error]) (string, error) {
	path := filepath.Join(dir, "part-0.parquet")
	fail := func(err error) (string, error) { return "", fmt.Errorf("%s: %w", path, err) }
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fail(err)
	}
	f, err := os.CreateTemp(dir, ".part-")
	if err != nil {
		return fail(err)
	}
	defer func() { _ = os.Remove(f.Name()) }() // it is gone once it has its name
	w := parquet.NewGenericWriter[T](f, columnOptions[T](&res.Settings)...)
	for some, bad := range rows {
		if err = bad; err == nil {
			_, err = w.Write(some)
		}
		if err != nil {
			break
		}
	}
	err = cmp.Or(err, w.Close(), f.Chmod(0o644), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return fail(err)
	}
	return path, nil
}

// columnOptions say how a data set is packed, and name its schema, what made it and
// the units of its columns.
func columnOptions[T any](by *session.Settings) []parquet.WriterOption {
	opts := []parquet.WriterOption{parquet.Compression(&parquet.Snappy), parquet.MaxRowsPerRowGroup(rowGroup),
		parquet.KeyValueMetadata("schema", Schema), parquet.KeyValueMetadata("version", by.Version),
		parquet.KeyValueMetadata("model", strconv.Itoa(by.Model)),
		parquet.KeyValueMetadata("positions", map[bool]string{true: "from the start line", false: "left out"}[by.Positions])}
	for t, i := reflect.TypeFor[T](), 0; i < t.NumField(); i++ {
		if u := t.Field(i).Tag.Get("unit"); u != "" {
			name, _, _ := strings.Cut(t.Field(i).Tag.Get("parquet"), ",")
			opts = append(opts, parquet.KeyValueMetadata("unit:"+name, u))
		}
	}
	return opts
}
