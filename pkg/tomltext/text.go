// Package tomltext knows TOML as text: where a key or a table stands, what is
// wrong on which line, which key a misspelt one was meant to be, and how a single
// value is changed while comments and spacing stay as their author wrote them.
// The decoder keeps none of that.
//
// # Model
//
// A text is lines. A header such as "[vehicle]" or "[[run]]" begins a table that
// goes on to the next header; a line in it that begins with a key and an equals
// sign gives that key its value, and is known by its dotted path, such as
// "vehicle.mass_kg".
//
// # Limits
//
// Every byte that no change was made to stays as it is: a byte order mark, line
// endings of either kind, blanks at the end. Lines that are added end as the first
// one does.
//
// Keys inside inline tables are found only by their last part, and are not
// changed. Depth counts names and brackets inside a string of several lines as if
// they stood outside, which no prose comes near. A text that decodes is never
// damaged as long as the caller decodes the outcome of a change and looks at the
// value: what cannot be found is added, and a key that then stands there twice is
// an error.
package tomltext

import (
	"regexp"
	"slices"
	"strings"
)

// Text is a TOML text by its lines.
type Text struct {
	lines   []string         // each with its ending
	eol     string           // of lines that are added
	mark    string           // byte order mark, "" for none
	path    []string         // dotted path of the table or key on each line, "" where there is none
	begins  []bool           // the line is a table's header
	headers map[string][]int // lines of the headers, from 1, by the table's path
}

// New takes a text apart. It may be wrong TOML: what cannot be read has no path.
func New(text string) *Text {
	t := &Text{eol: "\n"}
	if body, marked := strings.CutPrefix(text, byteOrderMark); marked {
		t.mark, text = byteOrderMark, body
	}
	if first, _, _ := strings.Cut(text, "\n"); strings.HasSuffix(first, "\r") {
		t.eol = "\r\n"
	}
	t.lines = linesOf(text)
	t.index()
	return t
}

const byteOrderMark = "\ufeff"

// linesOf are the lines of a text, each with its ending.
func linesOf(text string) []string { return slices.Collect(strings.Lines(text)) }

// String returns the text with the changes made to it.
func (t *Text) String() string { return t.mark + strings.Join(t.lines, "") }

// index finds what stands on each line.
func (t *Text) index() {
	t.path, t.begins, t.headers = make([]string, len(t.lines)), make([]bool, len(t.lines)), map[string][]int{}
	table, fence := "", ""
	for i, s := range t.lines {
		s = strings.TrimRight(s, "\r\n")
		if fence != "" { // inside a string of several lines
			if strings.Contains(s, fence) {
				fence = ""
			}
			continue
		}
		if h := named(tableHeader, s); h != "" {
			table = h
			t.headers[table] = append(t.headers[table], i+1)
			t.path[i], t.begins[i] = table, true
			continue
		}
		if k := named(keyOnLine, s); k != "" {
			t.path[i] = strings.TrimPrefix(table+"."+k, ".")
		}
		for _, f := range []string{`"""`, `'''`} {
			if strings.Count(s, f)%2 == 1 {
				fence = f
			}
		}
	}
}

var (
	tableHeader = regexp.MustCompile(`^\s*\[\[?\s*([A-Za-z0-9_.\-"' ]+?)\s*\]\]?\s*(?:#.*)?$`)
	keyOnLine   = regexp.MustCompile(`^\s*([A-Za-z0-9_\-]+(?:\s*\.\s*[A-Za-z0-9_\-]+)*|"[^"]*"|'[^']*')\s*=`)
)

// named returns the dotted name that a pattern finds on a line, "" if none.
func named(pattern *regexp.Regexp, line string) string {
	if m := pattern.FindStringSubmatch(line); m != nil {
		return bare.Replace(m[1])
	}
	return ""
}

// bare removes quotes and blanks from a dotted key.
var bare = strings.NewReplacer(`"`, "", `'`, "", " ", "", "\t", "")

// Line returns the first line, from 1, of a dotted key or table, at or after the
// line from; 0 where it is not found. A nil text has no lines.
func (t *Text) Line(path string, from int) int {
	if t == nil {
		return 0
	}
	first := max(from-1, 0)
	i := slices.Index(t.path[first:], path)
	if i < 0 { // an inline table has its keys in the middle of a line
		last := path[strings.LastIndexByte(path, '.')+1:]
		inline := regexp.MustCompile(`[{,]\s*["']?` + regexp.QuoteMeta(last) + `["']?\s*=`)
		i = slices.IndexFunc(t.lines[first:], inline.MatchString)
	}
	if i < 0 {
		return 0
	}
	return first + i + 1
}

// Header returns the line, from 1, of the n-th header of a table, from 0, or of
// what else gives the table its values; 0 where there is none.
func (t *Text) Header(table string, n int) int {
	if h := t.headers[table]; n < len(h) {
		return h[n]
	}
	return t.Line(table, 0)
}
