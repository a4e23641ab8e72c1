package web

import (
	"fmt"
	"strings"

	"github.com/BurntSushi/toml"

	"fromrest/pkg/sheet"
)

// The functions below change single keys in the text of a sheet and leave the
// rest, comments included, as its author wrote it. They know the plain forms a
// draft has; what they cannot find they add. Each caller parses the outcome
// again and looks at the value, so that a sheet written in an unusual way is
// refused and never damaged.

// block is a table of a sheet: lines from its header up to the next header.
type block struct{ begin, end int }

// blocks finds the tables with a header such as "[[run]]" or "[vehicle]".
func blocks(lines []string, header string) []block {
	var out []block
	for i := 0; i < len(lines); i++ {
		if headerOf(lines[i]) != header {
			continue
		}
		end := i + 1
		for end < len(lines) && headerOf(lines[end]) == "" {
			end++
		}
		out = append(out, block{i, end})
		i = end - 1
	}
	return out
}

// headerOf returns "[[run]]" for a line that begins such a table, else "".
func headerOf(line string) string {
	s := strings.TrimSpace(line)
	if !strings.HasPrefix(s, "[") {
		return ""
	}
	end := strings.IndexByte(s, ']')
	if end < 0 {
		return ""
	}
	s = s[:end+1]
	if strings.HasPrefix(s, "[[") {
		s += "]"
	}
	return strings.ReplaceAll(s, " ", "")
}

// keyOf returns the key that a line gives a value, "" if none.
func keyOf(line string) string {
	s := strings.TrimSpace(line)
	k, _, ok := strings.Cut(s, "=")
	if !ok || strings.HasPrefix(s, "#") {
		return ""
	}
	return strings.Trim(strings.TrimSpace(k), `"'`)
}

// stringOf returns the string that a line gives its key, "" if it is none.
func stringOf(line string) string {
	if _, v, ok := strings.Cut(line, "="); ok { // the plain form, at once
		if v = strings.TrimSpace(v); len(v) > 1 && v[0] == '"' && !strings.ContainsAny(v, "\\#") {
			if text := v[1 : len(v)-1]; v[len(v)-1] == '"' && !strings.Contains(text, `"`) && !strings.ContainsAny(line[:strings.IndexByte(line, '=')], `"'`) {
				return text
			}
		}
	}
	var v map[string]any
	if _, err := toml.Decode(line, &v); err != nil {
		return ""
	}
	s, _ := v[keyOf(line)].(string)
	return s
}

// put gives a key of a block its value, in place or as a new line at the end of
// the block's own lines.
func put(lines []string, b block, key, value string) []string {
	last := b.begin
	for i := b.begin; i < b.end; i++ {
		if keyOf(lines[i]) == key && headerOf(lines[i]) == "" {
			lines[i] = key + " = " + value
			return lines
		}
		if strings.TrimSpace(lines[i]) != "" && !strings.HasPrefix(strings.TrimSpace(lines[i]), "#") {
			last = i + 1
		}
	}
	return append(lines[:last:last], append([]string{key + " = " + value}, lines[last:]...)...)
}

// setRun gives a run's entry in a sheet a value, and adds the entry if there is
// none.
func setRun(body, id, key, value string) string {
	lines := strings.Split(body, "\n")
	for _, b := range blocks(lines, "[[run]]") {
		for i := b.begin + 1; i < b.end; i++ {
			if keyOf(lines[i]) == "id" && stringOf(lines[i]) == id {
				return strings.Join(put(lines, b, key, value), "\n")
			}
		}
	}
	return strings.TrimRight(body, "\n") + fmt.Sprintf("\n\n[[run]]\nid = %s\n%s = %s\n", sheet.Quote(id), key, value)
}

// dropExclude takes a run out of the [[exclude]] tables.
func dropExclude(body, id string) string {
	lines := strings.Split(body, "\n")
	bs := blocks(lines, "[[exclude]]")
	for i := len(bs) - 1; i >= 0; i-- {
		for k := bs[i].begin + 1; k < bs[i].end; k++ {
			if keyOf(lines[k]) == "run" && stringOf(lines[k]) == id {
				lines = append(lines[:bs[i].begin:bs[i].begin], lines[bs[i].end:]...)
				break
			}
		}
	}
	return strings.Join(lines, "\n")
}

// setKey gives a key of a table its value; the table "" is the top of the sheet.
func setKey(body, table, key, value string) string {
	lines := strings.Split(body, "\n")
	if table == "" {
		end := 0
		for end < len(lines) && headerOf(lines[end]) == "" {
			end++
		}
		return strings.Join(put(lines, block{0, end}, key, value), "\n")
	}
	if bs := blocks(lines, "["+table+"]"); len(bs) > 0 {
		return strings.Join(put(lines, bs[0], key, value), "\n")
	}
	return strings.TrimRight(body, "\n") + fmt.Sprintf("\n\n[%s]\n%s = %s\n", table, key, value)
}

// addMode lists a drive mode that the sheet does not have yet.
func addMode(body, name string) string {
	p, err := sheet.Parse(body, sheetName)
	if err != nil {
		return body
	}
	for _, m := range p.Modes {
		if m.Name == name {
			return body
		}
	}
	entry := fmt.Sprintf("[[mode]]\nname = %s\ndescription = \"\"\n", sheet.Quote(name))
	lines := strings.Split(body, "\n")
	if bs := blocks(lines, "[[mode]]"); len(bs) > 0 {
		at := bs[len(bs)-1].begin + 1
		for i := at; i < bs[len(bs)-1].end; i++ {
			if keyOf(lines[i]) != "" {
				at = i + 1
			}
		}
		return strings.Join(append(lines[:at:at], append([]string{"", strings.TrimRight(entry, "\n")}, lines[at:]...)...), "\n")
	}
	if bs := blocks(lines, "[[run]]"); len(bs) > 0 {
		at := bs[0].begin
		return strings.Join(append(lines[:at:at], append(strings.Split(entry, "\n"), lines[at:]...)...), "\n")
	}
	return strings.TrimRight(body, "\n") + "\n\n" + entry
}
