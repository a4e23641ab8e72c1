package sheet

import (
	"reflect"
	"strings"

	"github.com/BurntSushi/toml"
)

// nearest returns the known key of the same table that is spelt most like the
// last part of k, "" where none is within a third of its letters.
func nearest(k toml.Key) string {
	t := reflect.TypeFor[wireSheet]()
	for _, part := range k[:len(k)-1] {
		f, ok := fieldFor(t, part)
		if !ok {
			return ""
		}
		if t = f.Type; t.Kind() == reflect.Slice {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			return ""
		}
	}
	want, best, name := k[len(k)-1], 0, ""
	for _, c := range keysOf(t) {
		d := distance(strings.ToLower(want), c)
		if d <= max(len(c), len(want))/3 && (name == "" || d < best) {
			best, name = d, c
		}
	}
	return name
}

func keysOf(t reflect.Type) []string {
	var keys []string
	for i := range t.NumField() {
		f := t.Field(i)
		if f.Anonymous {
			keys = append(keys, keysOf(f.Type)...)
			continue
		}
		keys = append(keys, f.Tag.Get("toml"))
	}
	return keys
}

func fieldFor(t reflect.Type, key string) (reflect.StructField, bool) {
	for i := range t.NumField() {
		if f := t.Field(i); f.Tag.Get("toml") == key {
			return f, true
		}
	}
	return reflect.StructField{}, false
}

// distance is the number of single-letter edits between two words.
func distance(a, b string) int {
	prev := make([]int, len(b)+1)
	for j := range prev {
		prev[j] = j
	}
	for i := 1; i <= len(a); i++ {
		cur := make([]int, len(b)+1)
		cur[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			cur[j] = min(prev[j]+1, cur[j-1]+1, prev[j-1]+cost)
		}
		prev = cur
	}
	return prev[len(b)]
}
