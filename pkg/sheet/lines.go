package sheet

import (
	"regexp"
	"strings"
)

// lines finds the line on which a key or a table stands: the TOML decoder does
// not keep it once a file has been read.
type lines struct {
	text   []string
	path   []string         // of the key on each line, "" where there is none
	tables map[string][]int // lines of [[name]] headers, by name
}

var (
	tableHeader = regexp.MustCompile(`^\s*\[\[?\s*([A-Za-z0-9_.\-"' ]+?)\s*\]\]?\s*(?:#.*)?$`)
	keyOnLine   = regexp.MustCompile(`^\s*([A-Za-z0-9_\-]+(?:\s*\.\s*[A-Za-z0-9_\-]+)*|"[^"]*"|'[^']*')\s*=`)
)

func newLines(text string) *lines {
	l := &lines{text: strings.Split(text, "\n"), tables: map[string][]int{}}
	table, fence := "", ""
	for i, s := range l.text {
		l.path = append(l.path, "")
		if fence != "" { // inside a string of several lines
			if strings.Contains(s, fence) {
				fence = ""
			}
			continue
		}
		if m := tableHeader.FindStringSubmatch(s); m != nil {
			table = bare(m[1])
			l.tables[table] = append(l.tables[table], i+1)
			l.path[i] = table
			continue
		}
		if m := keyOnLine.FindStringSubmatch(s); m != nil {
			l.path[i] = strings.TrimPrefix(table+"."+bare(m[1]), ".")
		}
		for _, f := range []string{`"""`, `'''`} {
			if strings.Count(s, f)%2 == 1 {
				fence = f
			}
		}
	}
	return l
}

// bare removes quotes and blanks from a dotted key.
func bare(k string) string {
	return strings.NewReplacer(`"`, "", `'`, "", " ", "").Replace(k)
}

// key returns the first line of a dotted key, 0 where it is not found.
func (l *lines) key(path string) int { return l.keyFrom(path, 0) }

// keyFrom looks from the given line on.
func (l *lines) keyFrom(path string, from int) int {
	if l == nil {
		return 0
	}
	for i, p := range l.path {
		if i+1 >= from && p == path {
			return i + 1
		}
	}
	// An inline table has its keys in the middle of a line.
	last := path[strings.LastIndexByte(path, '.')+1:]
	inline := regexp.MustCompile(`[{,]\s*["']?` + regexp.QuoteMeta(last) + `["']?\s*=`)
	for i, s := range l.text {
		if i+1 >= from && inline.MatchString(s) {
			return i + 1
		}
	}
	return 0
}

// table returns the line of the n-th [[name]] header, from 0.
func (l *lines) table(name string, n int) int {
	if t := l.tables[name]; n < len(t) {
		return t[n]
	}
	return l.key(name)
}
