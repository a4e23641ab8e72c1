package format

import (
	"path/filepath"
	"slices"

	"fromrest/pkg/format/csv"
)

// candidate is a file that may be a log, by its first bytes.
type candidate struct {
	path, mode string
	kind       csv.Contents // of a table
}

// kindOf says what a table that begins with head holds, nothing for other logs.
func kindOf(head []byte) csv.Contents {
	if f := tell(head); f == nil || f.name != "csv" {
		return csv.Contents{Speed: true, Accel: true} // of its own
	}
	return csv.Look(head)
}

// pair joins the tables of one export: where a folder has one table of speed or
// position without acceleration, an accelerometer's table beside it goes with it, of
// several the one that feels gravity. Tables of neither are passed over.
func pair(all []candidate) (logs []Arg, passed []Passed) {
	folders := map[string][]candidate{}
	for _, c := range all {
		d := filepath.Dir(c.path)
		folders[d] = append(folders[d], c)
	}
	beside := map[string]string{} // of a log
	taken := map[string]bool{}
	for _, in := range folders {
		moving := slices.DeleteFunc(slices.Clone(in), func(c candidate) bool { return !c.kind.Speed })
		feeling := slices.DeleteFunc(slices.Clone(in), func(c candidate) bool { return c.kind.Speed || !c.kind.Accel })
		if len(moving) != 1 || moving[0].kind.Accel || len(feeling) == 0 {
			continue
		}
		best := feeling[0]
		for _, c := range feeling {
			taken[c.path] = true
			if best.kind.Linear && !c.kind.Linear {
				best = c
			}
		}
		beside[moving[0].path] = best.path
	}
	for _, c := range all {
		switch {
		case !c.kind.Speed && !c.kind.Accel:
			passed = append(passed, Passed{c.path, "a table without speed, position or acceleration", true})
		case !taken[c.path]:
			logs = append(logs, Arg{Mode: c.mode, Path: c.path, Folder: c.mode != "", Beside: beside[c.path]})
		case !slices.Contains(besides(beside), c.path):
			passed = append(passed, Passed{c.path, "another accelerometer of the same export was taken", false})
		}
	}
	return logs, passed
}

func besides(m map[string]string) (out []string) {
	for _, p := range m {
		out = append(out, p)
	}
	return out
}
