package session

import (
	"cmp"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"fromrest/pkg/diag"
)

// Shown are the paths of logs as outputs show them. What a log is called leaves the machine with
// every table; where it lies, and whose home that is, does not: of a path that is absolute or
// climbs above the working folder the last element is shown, and as many of its folders as tell
// it from the others.
func Shown(paths []string) []string {
	out := slices.Clone(paths)
	uses := map[string]int{}
	for i, p := range paths {
		if telling(p) {
			out[i] = ending(p, 1)
		}
		uses[out[i]]++
	}
	for level := 2; ; level++ {
		var alike []int
		for i, p := range paths {
			if telling(p) && uses[out[i]] > 1 && ending(p, level) != out[i] {
				alike = append(alike, i)
			}
		}
		if len(alike) == 0 {
			return out
		}
		for _, i := range alike {
			uses[out[i]]--
			out[i] = ending(paths[i], level)
			uses[out[i]]++
		}
	}
}

// telling reports whether a path tells where on a machine it lies.
func telling(p string) bool {
	return filepath.IsAbs(p) || strings.HasPrefix(filepath.ToSlash(filepath.Clean(p)), "../")
}

// ending is the last n elements of a path, or all that have a name.
func ending(p string, n int) string {
	parts := strings.FieldsFunc(filepath.ToSlash(filepath.Clean(p)), func(r rune) bool { return r == '/' })
	parts = slices.DeleteFunc(parts, func(s string) bool { return s == ".." })
	return strings.Join(parts[max(0, len(parts)-n):], "/")
}

// named gives inputs the names that outputs show.
func named(inputs []Input) []Input {
	paths := make([]string, len(inputs))
	for i, in := range inputs {
		paths[i] = in.Path
	}
	out := slices.Clone(inputs)
	for i, s := range Shown(paths) {
		if s != paths[i] {
			out[i].shown = s
		}
	}
	return out
}

// given is the log's path as it was given.
func (l *Log) given() string { return cmp.Or(l.file, l.Path) }

// discreet is what a logger said of itself, without what tells it from others of its kind.
func discreet(said map[string]string) map[string]string {
	said = maps.Clone(said)
	for k, v := range said {
		said[k] = diag.Discreet(v)
	}
	return said
}
