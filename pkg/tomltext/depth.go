package tomltext

// Depth is how many levels deep a text may nest: assumed, eight times what sheets
// and mappings need.
const Depth = 32

// TooDeep returns the first line, from 1, on which a TOML text nests deeper than
// Depth, 0 where none does. It is asked before a text is decoded: a decoder's work
// grows with the square of the depth, and a key of forty thousand parts, eighty
// kilobytes of text, takes it minutes.
//
// The model is coarse on purpose: it counts the parts of dotted names and the
// brackets open at one time, outside quoted strings on one line.
func TooDeep(text string) int {
	line, parts, open := 1, 1, 0
	dotted := false // a dot came last, blanks aside
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case c == '\n':
			line++
			parts, dotted = 1, false
		case c == '.':
			if dotted { // two in a row belong to no name
				parts = 1
			}
			parts++
			dotted = true
		case c == '#':
			for i+1 < len(text) && text[i+1] != '\n' {
				i++
			}
		case c == '"' || c == '\'':
			i = quoted(text, i)
			dotted = false
		case c == '[' || c == '{':
			open++
			parts, dotted = 1, false
		case c == ']' || c == '}':
			open = max(open-1, 0)
			parts, dotted = 1, false
		case c == '=' || c == ',':
			parts, dotted = 1, false
		case c != ' ' && c != '\t':
			dotted = false
		}
		if parts > Depth || open > Depth {
			return line
		}
	}
	return 0
}

// quoted returns where the string that begins at i ends, on the same line.
func quoted(text string, i int) int {
	quote := text[i]
	for k := i + 1; k < len(text) && text[k] != '\n'; k++ {
		switch {
		case text[k] == '\\' && quote == '"':
			k++
		case text[k] == quote:
			return k
		}
	}
	return i
}
