package tomltext

import (
	"errors"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"
)

var (
	placeInError = regexp.MustCompile(`^line (\d+)(?: \(last key "([^"]*)"\))?: (.*)$`)
	notATable    = regexp.MustCompile(`^type mismatch for .*: expected table but found (.+)$`)
	wrongType    = regexp.MustCompile(`^incompatible types: TOML value has type (.+); destination has type (.+)$`)
)

// Mistake makes one line of a decoder's error, such as "mass_kg: is text, want a
// number", and returns the line of the text it is on, 0 where that is not known.
// The error comes as a ParseError or, for a value of the wrong type, only as text
// with the line in it.
func Mistake(err error) (line int, text string) {
	var pe toml.ParseError
	if errors.As(err, &pe) && pe.Message != "" {
		text := strings.ReplaceAll(pe.Message, "\n", " ")
		if pe.LastKey != "" && !strings.Contains(text, pe.LastKey) {
			text = pe.LastKey + ": " + text
		}
		return pe.Position.Line, text
	}
	text = strings.ReplaceAll(strings.TrimPrefix(err.Error(), "toml: "), "\n", " ")
	m := placeInError.FindStringSubmatch(text)
	if m == nil {
		return 0, text
	}
	line, _ = strconv.Atoi(m[1]) // digits by the pattern
	text = m[3]
	if t := wrongType.FindStringSubmatch(text); t != nil {
		text = "is " + plainType(t[1]) + ", want " + plainType(t[2])
	}
	if t := notATable.FindStringSubmatch(text); t != nil {
		text = "is " + plainType(t[1]) + ", want a table"
	}
	return line, m[2] + ": " + text
}

// plainType names a type as a tester would.
func plainType(t string) string {
	switch {
	case t == "string":
		return "text"
	case t == "int64" || t == "integer" || t == "int":
		return "a whole number"
	case strings.HasPrefix(t, "float"):
		return "a number"
	case strings.HasPrefix(t, "bool"):
		return "true or false"
	case t == "slice" || strings.HasPrefix(t, "[]"):
		return "a list"
	case strings.HasPrefix(t, "map") || strings.Contains(t, "struct") || strings.Contains(t, "wire"):
		return "a table"
	}
	return t
}

// Nearest returns the key of T's tables that was most likely meant by one that
// they do not have: of the same table, and spelt most like the last part of it;
// "" where none is within a third of its letters.
func Nearest[T any](key toml.Key) string {
	t := reflect.TypeFor[T]()
	for _, part := range key[:len(key)-1] {
		fields := reflect.VisibleFields(t)
		i := slices.IndexFunc(fields, func(f reflect.StructField) bool { return f.Tag.Get("toml") == part })
		if i < 0 {
			return ""
		}
		if t = fields[i].Type; t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			return ""
		}
	}
	var names []string
	for _, f := range reflect.VisibleFields(t) {
		if c := f.Tag.Get("toml"); c != "" && c != "-" {
			names = append(names, c)
		}
	}
	return NearestWord(key[len(key)-1], names)
}

// NearestWord returns the one of some words that was most likely meant by another, "" where
// none is within a third of its letters.
func NearestWord(meant string, words []string) string {
	best, nearest := 0, ""
	for _, w := range words {
		d := distance(strings.ToLower(meant), w)
		if d <= max(len(w), len(meant))/3 && (nearest == "" || d < best) {
			best, nearest = d, w
		}
	}
	return nearest
}

// distance is the number of single-letter edits between two words (Levenshtein
// 1966).
func distance(a, b string) int {
	prev := make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := range len(a) {
		cur := []int{i + 1}
		for j := range len(b) {
			cost := 1
			if a[i] == b[j] {
				cost = 0
			}
			cur = append(cur, min(prev[j+1]+1, cur[j]+1, prev[j]+cost))
		}
		prev = cur
	}
	return prev[len(b)]
}
