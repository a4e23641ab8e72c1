package tomltext

import (
	"fmt"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"
)

// Quote writes a string as TOML's basic string, with its quotation marks.
func Quote(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteString(`\` + string(r))
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	return `"` + b.String() + `"`
}

// Set gives a key of a table its value, as TOML writes it: in place, or as a new
// line at the end of the table's own lines, or in a new table at the end of the
// text. The table "" is the top of the text.
func (t *Text) Set(table, key, value string) {
	switch h := t.headers[table]; {
	case table == "":
		t.put(0, t.end(0), key, key, value)
	case len(h) > 0:
		t.put(h[0]-1, t.end(h[0]), table+"."+key, key, value)
	default:
		t.append(fmt.Sprintf("[%s]\n%s = %s", table, key, value))
	}
}

// Unset takes a key of a table out where its value stands on the key's own line; it
// reports whether the key was there. The caller decodes the outcome, as for all changes.
func (t *Text) Unset(table, key string) bool {
	begin, path := 0, key
	if table != "" {
		h := t.headers[table]
		if len(h) == 0 {
			return false
		}
		begin, path = h[0], table+"."+key
	}
	return t.cut(begin, path)
}

// UnsetIn is Unset for a key of an entry.
func (t *Text) UnsetIn(e Entry, key string) bool {
	for _, h := range t.headers[e.Table] {
		if t.is(h, e) {
			return t.cut(h, e.Table+"."+key)
		}
	}
	return false
}

// cut takes the line of a path out of those from begin to the next table.
func (t *Text) cut(begin int, path string) bool {
	for i := begin; i < t.end(begin); i++ {
		if t.path[i] == path && !t.begins[i] {
			t.lines = slices.Delete(t.lines, i, i+1)
			t.index()
			return true
		}
	}
	return false
}

// Entry chooses a table among several of one kind, such as the [[run]] whose id is
// "full-1#2".
type Entry struct{ Table, Key, Value string }

// SetIn gives a key of an entry its value, and adds the entry if there is none.
func (t *Text) SetIn(e Entry, key, value string) {
	for _, h := range t.headers[e.Table] {
		if t.is(h, e) {
			t.put(h-1, t.end(h), e.Table+"."+key, key, value)
			return
		}
	}
	t.append(fmt.Sprintf("[[%s]]\n%s = %s\n%s = %s", e.Table, e.Key, Quote(e.Value), key, value))
}

// Drop takes an entry out, however often it is there.
func (t *Text) Drop(e Entry) {
	for _, h := range slices.Backward(t.headers[e.Table]) {
		if t.is(h, e) {
			t.lines = slices.Delete(t.lines, h-1, t.end(h))
		}
	}
	t.index()
}

// Add puts one or more new tables of a kind after the keys of the last one, or at
// the end where there is none yet.
func (t *Text) Add(table, text string) {
	hs := t.headers[table]
	if len(hs) == 0 {
		t.append(text)
		return
	}
	last := hs[len(hs)-1]
	t.insert(t.content(last, t.end(last)), "\n"+text)
}

// After puts lines after that of a key, indented like it, in tables of a kind: texts[n]
// in the n-th, from 0. It returns the tables in which there is no such key.
func (t *Text) After(table, key string, texts map[int]string) (missing []int) {
	at := map[int]string{}
	for n, text := range texts {
		line := -1
		if hs := t.headers[table]; n < len(hs) {
			line = slices.Index(t.path[hs[n]:t.end(hs[n])], table+"."+key)
			if line >= 0 {
				line += hs[n]
			}
		}
		if line < 0 {
			missing = append(missing, n)
			continue
		}
		s := t.lines[line]
		indent := s[:len(s)-len(strings.TrimLeft(s, " \t"))]
		at[line] = indent + strings.ReplaceAll(text, "\n", t.eol+indent)
	}
	var out []string
	for i, s := range t.lines {
		out = append(out, s)
		if text, ok := at[i]; ok {
			out = append(t.ended(out), text+t.eol)
		}
	}
	t.lines = out
	t.index()
	slices.Sort(missing)
	return missing
}

// end is where the table goes on to whose first own line, after its header, is at.
func (t *Text) end(at int) int {
	for at < len(t.lines) && !t.begins[at] {
		at++
	}
	return at
}

// is reports whether the table of a header, at its line from 1, is an entry.
func (t *Text) is(header int, e Entry) bool {
	for i := header; i < t.end(header); i++ {
		if t.path[i] == e.Table+"."+e.Key && stringOn(t.lines[i]) == e.Value {
			return true
		}
	}
	return false
}

// stringOn returns the string that a line gives its key, "" if it gives none.
func stringOn(line string) string {
	line = strings.TrimRight(line, "\r\n")
	key, v, _ := strings.Cut(line, "=")
	if v = strings.TrimSpace(v); len(v) > 1 && v[0] == '"' && v[len(v)-1] == '"' &&
		!strings.ContainsAny(v[1:len(v)-1], `"\#`) && !strings.ContainsAny(key, `"'`) {
		return v[1 : len(v)-1] // the plain form, at once
	}
	var values map[string]any
	if _, err := toml.Decode(line, &values); err != nil {
		return ""
	}
	s, _ := values[named(keyOnLine, line)].(string)
	return s
}

// put gives the key of a path its value among the lines from begin to end, in
// place or after their content.
func (t *Text) put(begin, end int, path, key, value string) {
	line := key + " = " + value
	for i := begin; i < end; i++ {
		if t.path[i] == path && !t.begins[i] {
			old := t.lines[i]
			t.lines[i] = line + old[len(strings.TrimRight(old, "\r\n")):]
			return
		}
	}
	t.insert(t.content(begin, end), line)
}

// content is where, from begin to end, the lines end that are neither blank nor
// comments.
func (t *Text) content(begin, end int) int {
	for end > begin {
		if s := strings.TrimSpace(t.lines[end-1]); s != "" && !strings.HasPrefix(s, "#") {
			break
		}
		end--
	}
	return end
}

// insert puts a text of lines before a line, from 0.
func (t *Text) insert(at int, text string) {
	added := linesOf(strings.ReplaceAll(text+"\n", "\n", t.eol))
	head := t.ended(slices.Clone(t.lines[:at]))
	t.lines = slices.Concat(head, added, t.lines[at:])
	t.index()
}

// ended gives the last of some lines an ending.
func (t *Text) ended(lines []string) []string {
	if n := len(lines); n > 0 && !strings.HasSuffix(lines[n-1], "\n") {
		lines[n-1] += t.eol
	}
	return lines
}

// append puts a table at the end of the text, after a blank line.
func (t *Text) append(table string) {
	if n := len(t.lines); n > 0 && strings.TrimSpace(t.lines[n-1]) != "" {
		table = "\n" + table
	}
	t.insert(len(t.lines), table)
}
