package web

import (
	"bytes"
	"html"
	"net/http"
	"regexp"
	"strconv"
	"strings"

	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
)

// shown has what a person opened in a window of its own say in words why it cannot be
// shown: such an answer is looked at, not taken apart.
func shown(next http.HandlerFunc) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if r.Header.Get("Sec-Fetch-Dest") != "document" {
			next(w, r)
			return
		}
		k := &kept{ResponseWriter: w}
		next(k, r)
		if k.status >= http.StatusBadRequest {
			messagePage(w, k.status, reason(k.body.Bytes()))
		}
	}
}

// kept holds a refusal back.
type kept struct {
	http.ResponseWriter
	status int
	body   bytes.Buffer
}

// WriteHeader implements http.ResponseWriter.
func (k *kept) WriteHeader(status int) {
	if k.status = status; status < http.StatusBadRequest {
		k.ResponseWriter.WriteHeader(status)
	}
}

// Write implements io.Writer.
func (k *kept) Write(p []byte) (int, error) {
	if k.status >= http.StatusBadRequest {
		return k.body.Write(p)
	}
	return k.ResponseWriter.Write(p)
}

// Unwrap is for http.ResponseController.
func (k *kept) Unwrap() http.ResponseWriter { return k.ResponseWriter }

var errorText = regexp.MustCompile(`^\s*\{"error":("(?:[^"\\]|\\.)*")\}\s*$`)

// reason is what a refusal says.
func reason(body []byte) string {
	if m := errorText.FindSubmatch(body); m != nil {
		if s, err := strconv.Unquote(string(m[1])); err == nil {
			return s
		}
	}
	return strings.TrimSpace(string(body))
}

// messagePage is a sheet with one sentence.
func messagePage(w http.ResponseWriter, status int, text string) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	page := strings.Replace(string(assets["/assets/message.html"].body), "<!-- message -->", html.EscapeString(text), 1)
	_, _ = w.Write([]byte(page)) // a client that does not take it is gone
}

// planPage shows a plan of runs as a card to print: modes, one a line, runs, directions,
// smallest and scatter in s. Its sheet=1 gives the session sheet for it instead.
func planPage(w http.ResponseWriter, r *http.Request, work *work) error {
	q := r.URL.Query()
	o := compare.PlanOptions{Version: work.s.opts.Version}
	for m := range strings.SplitSeq(q.Get("modes"), "\n") {
		if m = clean(m, mostMode); m != "" {
			o.Modes = append(o.Modes, m)
		}
	}
	for _, n := range []struct {
		name string
		to   *int
	}{{"runs", &o.Runs}, {"directions", &o.Ways}} {
		if text := q.Get(n.name); text != "" {
			x, err := strconv.Atoi(text)
			if err != nil || x < 1 {
				return &errEdit{n.name + " " + strconv.Quote(clean(text, mostWheel)) + ": want a whole number of 1 or more"}
			}
			*n.to = x
		}
	}
	for _, n := range []struct {
		name string
		use  func(float64)
	}{{"smallest", func(x float64) { o.Smallest = x }}, {"scatter", func(x float64) { o.Scatter = &compare.Scatter{SD: x, From: "the page"} }}} {
		if text := q.Get(n.name); text != "" {
			x, err := strconv.ParseFloat(text, 64)
			if err != nil || !(x > 0 && x < mostAligned) {
				return &errEdit{n.name + " " + strconv.Quote(clean(text, mostWheel)) + ": want a positive number of seconds"}
			}
			n.use(x)
		}
	}
	p, err := compare.NewPlan(o, nil)
	if err != nil {
		return &errEdit{err.Error()}
	}
	day := &report.Plan{Plan: p, Units: work.s.opts.Units, Paper: report.Paperwork(q.Get("paper"))}
	res := work.snapshot()
	if res != nil && res.Sheet != nil {
		day.Day, day.Units = res.Sheet.Plan, res.Settings.Units
	}
	day.Rooms = session.Rooms(res, &day.Day, o.Modes)
	var b bytes.Buffer
	if q.Get("sheet") != "" {
		if err := report.PlanSheet(&b, day); err != nil {
			return err
		}
		download(w, "plan.toml", "application/toml", &b)
		return nil
	}
	if err := report.PlanHTML(&b, day); err != nil {
		return err
	}
	showPage(w, &b)
	return nil
}

// call is what the commands are called with: the saved sheet and the logs. The caller
// holds mu.
func (w *work) call() callView {
	v := callView{Short: " --sheet " + sheetName}
	if w.s.opts.Units == "kmh" && (w.parsed == nil || w.parsed.Units == "") {
		v.Short += " --units kmh"
	}
	v.Tail = v.Short
	for _, l := range w.logs {
		if w.sensor == nil || w.sensor.name != l.Name { // which the sheet names
			v.Tail += " " + shellWord(l.Name)
		}
	}
	return v
}

var plainWord = regexp.MustCompile(`^[A-Za-z0-9_./#+:@%][A-Za-z0-9_./#+:@%-]*$`)

// shellWord is a name as a shell takes it for one word.
func shellWord(name string) string {
	if strings.HasPrefix(name, "-") || strings.Contains(name, "=") {
		name = "./" + name
	}
	if plainWord.MatchString(name) {
		return name
	}
	return "'" + strings.ReplaceAll(name, "'", `'\''`) + "'"
}
