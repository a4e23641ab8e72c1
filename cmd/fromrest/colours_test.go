package main

import (
	"fmt"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"fromrest/pkg/figure"
)

var (
	oneFigure = regexp.MustCompile(`(?s)<svg[^>]*aria-labelledby.*?</svg>`)
	// A row of the first page has the mode's line before its name and its runs behind.
	oneRow   = regexp.MustCompile(`(?s)<tr><th scope="row">(<svg.*?</svg>)<b[^>]*>([^<]*)</b>.*?<td class="d">(<svg.*?</svg>)`)
	titled   = regexp.MustCompile(`<title[^>]*>([^<]*)`)
	coloured = regexp.MustCompile(`#[0-9a-f]{6}`)
	// A key is a stroke with the words for it in ink.
	keyed = regexp.MustCompile(`<path [^>]*stroke(?::var\(--fig-s\d,|=")(#[0-9a-f]{6})[^ ]*( stroke-dasharray="[^"]*")?/>\s*<text [^>]*(?:var\(--fig-ink|fill="#1b1f23")[^>]*>([^<]*) \((?:1 run|\d+ runs)\)</text>`)
	// A name at the end of a line is in its colour.
	ended = regexp.MustCompile(`<text [^>]*fill="(#[0-9a-f]{6})"[^>]*>([^<]*) \((?:1 run|\d+ runs)\)</text>`)
	// In a figure of dots a tick names the mode of a row, and a wide stroke is its mean.
	named = regexp.MustCompile(`<text [^>]*>(calm|plain|full)</text>`)
	means = regexp.MustCompile(`<path [^>]*stroke-width="1.8"[^>]*(#[0-9a-f]{6})`)
)

// modeLines collects how each mode is drawn.
type modeLines struct {
	lines, colours map[string]map[string]bool // by mode
	keys, alone    int
}

func (m *modeLines) saw(of map[string]map[string]bool, mode, what string) {
	if of[mode] == nil {
		of[mode] = map[string]bool{}
	}
	of[mode][what] = true
}

// look reads one figure: its key, its rows, or that all of it is of one mode.
func (m *modeLines) look(svg string, series []string) {
	title := titled.FindStringSubmatch(svg)[1]
	for _, k := range keyed.FindAllStringSubmatch(svg, -1) {
		m.saw(m.lines, k[3], k[1]+k[2])
		m.saw(m.colours, k[3], k[1])
		m.keys++
	}
	for _, n := range ended.FindAllStringSubmatch(svg, -1) {
		if slices.Contains(series, n[1]) {
			m.saw(m.colours, n[2], n[1])
			m.keys++
		}
	}
	if rows := means.FindAllStringSubmatch(svg, -1); len(rows) > 0 {
		for i, n := range named.FindAllStringSubmatch(svg, -1) {
			m.saw(m.colours, n[1], rows[i][1])
		}
	}
	for _, mode := range []string{"calm", "plain", "full"} {
		if strings.HasPrefix(title, mode+"-") || strings.HasSuffix(title, "mode "+mode) {
			m.alone++
			for _, c := range coloured.FindAllString(svg, -1) {
				if slices.Contains(series, c) {
					m.saw(m.colours, mode, c)
				}
			}
		}
	}
}

// TestAModeHasOneLine draws all figures of the demonstration, and of parts of it: a
// mode has one colour and one dash in all of them.
func TestAModeHasOneLine(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	dir := filepath.Join(t.TempDir(), "demo")
	out(t, "demo", "-o", dir)
	page := mustReadFile(t, filepath.Join(dir, "report.html"))
	figures := oneFigure.FindAllString(page, -1)
	drawn := t.TempDir()
	out(t, "compare", "--figures", drawn, dir)
	for i, args := range [][]string{nil, {"--by", "distance", "--align", "launch"}, {"--show", "acceleration", "--by", "speed", "--means", "--narrow"}, {"--only", "full-1#1", "--only", "plain-1#1"}, {"--only", "plain-2#2", "--only", "full-2#1", "--narrow"}} {
		path := filepath.Join(drawn, fmt.Sprintf("overlay-%d.svg", i))
		out(t, append(append([]string{"overlay", "-o", path}, args...), dir)...)
	}
	for _, mode := range []string{"calm", "plain", "full"} {
		out(t, "explain", "--mode", mode, "-o", filepath.Join(drawn, "force-"+mode+".svg"), dir)
	}
	files, err := filepath.Glob(filepath.Join(drawn, "*.svg"))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		figures = append(figures, mustReadFile(t, f))
	}
	var series []string
	for _, l := range (figure.Options{Modes: strings.Fields("1 2 3 4 5 6 7")}).Lines(nil) {
		series = append(series, l.Light)
	}
	m := modeLines{lines: map[string]map[string]bool{}, colours: map[string]map[string]bool{}}
	for _, svg := range figures {
		m.look(svg, series)
	}
	rows := oneRow.FindAllStringSubmatch(page, -1)
	for _, r := range rows {
		for _, c := range coloured.FindAllString(r[1]+r[3], -1) {
			if slices.Contains(series, c) {
				m.saw(m.colours, r[2], c)
			}
		}
	}
	if len(rows) != 3 || m.keys < 12 || m.alone < 20 || len(m.lines) != 3 || len(m.colours) != 3 {
		t.Fatalf("%d figures: %d keys, %d of one mode, lines %v, colours %v", len(figures), m.keys, m.alone, m.lines, m.colours)
	}
	taken := map[string]string{}
	for mode, of := range m.colours {
		colours := slices.Collect(maps.Keys(of))
		if len(colours) != 1 || len(m.lines[mode]) != 1 {
			t.Errorf("mode %s is drawn in the colours %v and the lines %v", mode, colours, m.lines[mode])
		}
		for _, c := range colours {
			if taken[c] != "" {
				t.Errorf("%s and %s are both drawn in %s", mode, taken[c], c)
			}
			taken[c] = mode
		}
	}
}
