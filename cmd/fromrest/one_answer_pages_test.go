package main

import (
	"bytes"
	"encoding/json"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// A comparison names its target in a heading, then a row for each mode and each pair.
var (
	textHead = regexp.MustCompile(`^(?:\*\*)?(.+), (from rest|with rollout)(?:\*\*)?$`)
	htmlHead = regexp.MustCompile(`<h3>([^<]+) <span class="note">(from rest|with rollout)</span></h3>`)
	htmlRow  = regexp.MustCompile(`<tr[^>]*><th scope="row">([^<]+?)(?: <span class="note">[^<]*</span>)?</th>(.*?)</tr>`)
	htmlMark = regexp.MustCompile(`<span class="v">([^<]*)</span><span class="u">±([^<]*)</span>`)
)

func compareText(t *testing.T, f folder) answers {
	got := answers{}
	target, from, table := "", "", ""
	for line := range strings.Lines(out(t, f.args("compare")...)) {
		if m := textHead.FindStringSubmatch(strings.TrimSpace(line)); m != nil {
			target, from = m[1], m[2]
			continue
		}
		name, _, _ := strings.Cut(strings.TrimSpace(line), "  ")
		cells := printed.FindAllStringSubmatch(line, -1)
		switch {
		case name == "mode" || name == "difference":
			table = name
		case !strings.HasPrefix(line, "  ") || len(cells) == 0 || target == "":
			table = ""
		case table != "":
			got.put(name, target, from, cells[len(cells)-1][1], cells[len(cells)-1][2]) // the mean of both ways is last
		}
	}
	return got
}

func compareMarkdown(t *testing.T, f folder) answers {
	got := answers{}
	target, from := "", ""
	for line := range strings.Lines(out(t, f.args("compare", "--format", "md")...)) {
		if m := textHead.FindStringSubmatch(strings.TrimSpace(line)); m != nil {
			target, from = m[1], m[2]
		}
		name, rest, ok := strings.Cut(strings.Trim(line, "| \n"), " | ")
		if cells := printed.FindAllStringSubmatch(rest, -1); ok && len(cells) > 0 {
			got.put(name, target, from, cells[len(cells)-1][1], cells[len(cells)-1][2])
		}
	}
	return got
}

func compareJSON(t *testing.T, f folder) answers {
	var v struct {
		Targets []struct {
			Name, From string
			Modes      []struct {
				Mode   string
				Mean   float64  `json:"mean_s"`
				U95    float64  `json:"u95_s"`
				Two    *float64 `json:"two_way_mean_s"`
				TwoU95 *float64 `json:"two_way_u95_s"`
			}
			Pairs []struct {
				A, B       string
				Difference float64 `json:"difference_s"`
				Lo         float64 `json:"lo_s"`
				Hi         float64 `json:"hi_s"`
			}
		}
	}
	decode(t, []byte(out(t, f.args("compare", "--format", "json")...)), &v)
	got := answers{}
	for _, tg := range v.Targets {
		for _, m := range tg.Modes {
			if m.Two != nil {
				m.Mean, m.U95 = *m.Two, *m.TwoU95
			}
			got.put(m.Mode, tg.Name, tg.From, number(m.Mean), number(m.U95))
		}
		for _, p := range tg.Pairs {
			got.put(p.A+" - "+p.B, tg.Name, tg.From, number(p.Difference), number((p.Hi-p.Lo)/2))
		}
	}
	return got
}

// explainJSON are the measured means and differences that the explanation starts from.
func explainJSON(t *testing.T, f folder) answers {
	type value struct{ Value, U95 float64 }
	var v struct {
		Modes []struct {
			Mode  string
			Times []struct {
				Name     string
				Measured *value `json:"measured_s"`
			}
		}
		Differences []struct {
			A, B, Name string
			Measured   value `json:"measured_s"`
		} `json:"time_differences"`
	}
	decode(t, []byte(out(t, f.args("explain", "--format", "json")...)), &v)
	got := answers{}
	for _, m := range v.Modes {
		for _, tm := range m.Times {
			if tm.Measured != nil {
				got.put(m.Mode, tm.Name, "rest", number(tm.Measured.Value), number(tm.Measured.U95))
			}
		}
	}
	for _, d := range v.Differences {
		got.put(d.A+" - "+d.B, d.Name, "rest", number(d.Measured.Value), number(d.Measured.U95))
	}
	return got
}

func reportHTML(t *testing.T, f folder) answers {
	path := filepath.Join(t.TempDir(), "r.html")
	out(t, f.args("report", "-o", path)...)
	return htmlAnswers(mustReadFile(t, path))
}

func mustReadFile(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// htmlAnswers reads the comparison of a page and the means of its first page.
func htmlAnswers(page string) answers {
	got := answers{}
	compared := page[strings.Index(page, `<section id="compare"`):]
	compared = compared[:strings.Index(compared, "\n</section>")]
	heads := htmlHead.FindAllStringSubmatchIndex(compared, -1)
	for i, h := range heads {
		end := len(compared)
		if i+1 < len(heads) {
			end = heads[i+1][0]
		}
		target, from := compared[h[2]:h[3]], compared[h[4]:h[5]]
		for _, r := range htmlRow.FindAllStringSubmatch(compared[h[1]:end], -1) {
			if cells := htmlMark.FindAllStringSubmatch(r[2], -1); len(cells) > 0 {
				got.put(html.UnescapeString(r[1]), target, from, cells[len(cells)-1][1], cells[len(cells)-1][2])
			}
		}
	}
	front := page[strings.Index(page, `<table class="modes">`):]
	front = front[:strings.Index(front, "</table>")]
	var targets []string
	for _, m := range regexp.MustCompile(`<th scope="col">([^<]*)<span class="unit">`).FindAllStringSubmatch(front, -1) {
		targets = append(targets, m[1])
	}
	for _, r := range regexp.MustCompile(`(?s)<tr><th scope="row">.*?<b [^>]*>([^<]*)</b></th>.*?</td>(.*?)<td class="d">`).FindAllStringSubmatch(front, -1) {
		for i, cell := range strings.Split(r[2], "<td>")[1:] {
			for k, m := range htmlMark.FindAllStringSubmatch(cell, -1) {
				got.put(html.UnescapeString(r[1]), targets[i], []string{"rollout", "rest"}[k], m[1], m[2])
			}
		}
	}
	return got
}

func (f folder) page(t *testing.T) *localPage {
	return servePage(t, mustReadFile(t, filepath.Join(f.dir, folderSheet)), f.logs...)
}

func pageAPI(t *testing.T, f folder) answers {
	type num struct{ V, H string }
	var v struct {
		Targets []struct {
			Name, From string
			Modes      []struct {
				Name         string
				Mean, TwoWay json.RawMessage
			}
			Pairs []struct {
				A, B       string
				Difference json.RawMessage
			}
		}
	}
	f.page(t).json("GET", "/compare", "", &v)
	got := answers{}
	put := func(modes, target, from string, raw ...json.RawMessage) {
		for _, r := range raw {
			var n num
			if err := json.Unmarshal(r, &n); err == nil && n.H != "" {
				got.put(modes, target, from, n.V, n.H)
				return
			}
		}
	}
	for _, tg := range v.Targets {
		for _, m := range tg.Modes {
			put(m.Name, tg.Name, tg.From, m.TwoWay, m.Mean)
		}
		for _, p := range tg.Pairs {
			put(p.A+" - "+p.B, tg.Name, tg.From, p.Difference)
		}
	}
	return got
}

func pageExport(t *testing.T, f folder) answers {
	return htmlAnswers(string(f.page(t).ask("GET", "/export/report.html", "")))
}

// TestOneReport compares the report of the command, of the demonstration and of the
// page's export of one session: the same bytes.
func TestOneReport(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	dir := filepath.Join(t.TempDir(), "demo")
	out(t, "demo", "-o", dir)
	demo := mustReadFile(t, filepath.Join(dir, "report.html"))
	path := filepath.Join(t.TempDir(), "r.html")
	out(t, "report", "-o", path, dir)
	var logs []string
	for _, pattern := range []string{"*.nmea", "*.fit"} {
		found, err := filepath.Glob(filepath.Join(dir, pattern))
		if err != nil {
			t.Fatal(err)
		}
		logs = append(logs, found...)
	}
	page := servePage(t, mustReadFile(t, filepath.Join(dir, folderSheet)), logs...)
	for name, got := range map[string]string{"report": mustReadFile(t, path), "the page's export": string(page.ask("GET", "/export/report.html", ""))} {
		if got != demo {
			at := 0
			for at < min(len(got), len(demo)) && got[at] == demo[at] {
				at++
			}
			t.Errorf("%s is %d bytes, the demonstration's %d; from byte %d: %.120q, want %.120q", name, len(got), len(demo), at, got[at:], demo[at:])
		}
	}
	if !bytes.Contains([]byte(demo), []byte(`id="explain"`)) {
		t.Error("the report explains nothing")
	}
}
