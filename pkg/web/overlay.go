package web

import (
	"math"
	"net/http"
	"strconv"
	"strings"

	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// traceView is one run's estimate in columns: what the overlay is drawn from.
type traceView struct {
	ID   string   `json:"id"`
	Mode string   `json:"mode"`
	T    []number `json:"t"`  // s since the launch
	S    []number `json:"s"`  // m since the launch
	V    []number `json:"v"`  // m/s
	A    []number `json:"a"`  // m/s²
	SV   []number `json:"sv"` // m/s, half-width of the 95 % interval
	SA   []number `json:"sa"` // m/s², the same
}

// number is a float of at most five decimals; not a number is null.
type number float64

// MarshalJSON implements json.Marshaler.
func (n number) MarshalJSON() ([]byte, error) {
	x := float64(n)
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return []byte("null"), nil
	}
	return strconv.AppendFloat(nil, math.Round(x*1e5)/1e5, 'f', -1, 64), nil
}

// traces are those of the runs asked for, by their ids on a line each.
func traces(r *http.Request, w *work) (any, error) {
	ids := strings.Split(r.URL.Query().Get("runs"), "\n")
	if len(ids) > maxTraces {
		return nil, &errEdit{"at most " + strconv.Itoa(maxTraces) + " traces at a time"}
	}
	runs := map[string]*session.TimedRun{}
	for _, r := range w.snapshot().Runs {
		runs[r.ID] = r
	}
	out := []traceView{}
	for _, id := range ids {
		if r := runs[id]; r != nil && r.Trace.Len() > 1 {
			out = append(out, viewTrace(r))
		}
	}
	return out, nil
}

func viewTrace(r *session.TimedRun) traceView {
	tr := &r.Trace
	wide := func(sd []float64) []number {
		out := make([]number, len(tr.T))
		for i := range out {
			out[i] = number(math.NaN())
			if i < len(sd) {
				out[i] = number(uncert.Z95 * sd[i])
			}
		}
		return out
	}
	plain := func(x []float64) []number { return each(x, func(v float64) number { return number(v) }) }
	return traceView{ID: r.ID, Mode: r.Mode, T: plain(tr.T), S: plain(tr.S), V: plain(tr.V), A: plain(tr.A),
		SV: wide(tr.SV), SA: wide(tr.SA)}
}
