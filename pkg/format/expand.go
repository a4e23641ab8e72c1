package format

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"github.com/maruel/natural"

	"fromrest/pkg/format/csv"
)

// Arg is one log named by the user.
type Arg struct {
	Mode string // drive mode, "" where none was given
	Path string
	// Folder is set where the mode is the name of the sub-folder that the log lies
	// in: what a sheet says goes before it.
	Folder bool
	// Beside is the accelerometer's table that goes with the log, "" for none.
	Beside string
}

// Stdin is the argument that means the standard input.
const Stdin = "-"

// FolderMode is the drive mode that the name of a sub-folder gives the logs in it:
// the name itself, unless it is a date, as loggers name their folders.
func FolderMode(name string) string {
	if name == "." || name == string(filepath.Separator) || DatedFolder.MatchString(name) {
		return ""
	}
	return strings.TrimSpace(name)
}

// DatedFolder matches names that are made of the digits of a date or a time alone, such
// as 2026-06-14, 20260614 and 14.06.26_0958. Browsers read it alike.
var DatedFolder = regexp.MustCompile(`^\d{2,8}([-_. T]?\d{1,6})*$`)

// Passed is a file of a folder that was passed over.
type Passed struct {
	Path, Why string
	// Document is set for what folders of logs hold beside logs and nobody takes
	// for one: sheets and mappings in TOML, pages, pictures, notes.
	Document bool
}

// Expand splits mode=path arguments and replaces a folder by the logs in it,
// found by content, in the order of their names with numbers in theirs (run-2 before run-10), those of sub-folders included: the name of a
// sub-folder is the mode of its logs where none was given (FolderMode). A path that
// exists is taken as it stands, even with an equals sign in its name. Every
// argument that names nothing gives an error; the others are returned all the
// same. An argument with the wildcards of path.Match that names no file stands for those
// it matches, where a shell did not see to that. It also says what was passed over in folders: symbolic links, special
// files, session sheets and mappings in TOML, and files that hold no known log.
// Hidden files are passed over silently.
func Expand(args []string) (logs []Arg, passed []Passed, errs []error) {
	for _, a := range globbed(args) {
		if mode, ok := strings.CutSuffix(a, Stdin); ok && (mode == "" || strings.HasSuffix(mode, "=")) {
			logs = append(logs, Arg{Mode: strings.TrimSpace(strings.TrimSuffix(mode, "=")), Path: Stdin})
			continue
		}
		mode, path, info, err := split(a)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		if !info.IsDir() {
			found, over, err := members(path, info)
			passed = append(passed, over...)
			switch {
			case err != nil:
				errs = append(errs, wrap(path, err))
			case found == nil:
				found = []Arg{{Path: path}}
			}
			logs = append(logs, named(found, mode)...)
			continue
		}
		found, over, err := folder(path)
		passed = append(passed, over...)
		if err != nil {
			errs = append(errs, err)
		}
		logs = append(logs, named(found, mode)...)
	}
	return logs, passed, errs
}

// globbed replaces arguments with wildcards by what they match.
func globbed(args []string) []string {
	var out []string
	for _, a := range args {
		mode, path, info, _ := split(a)
		found, err := filepath.Glob(path)
		if info != nil || err != nil || len(found) == 0 || !strings.ContainsAny(path, "*?[") {
			out = append(out, a)
			continue
		}
		slices.SortFunc(found, natural.Compare)
		for _, f := range found {
			if mode != "" {
				f = mode + "=" + f
			}
			out = append(out, f)
		}
	}
	return out
}

// named gives logs the mode that the user named, if any.
func named(logs []Arg, mode string) []Arg {
	for i := range logs {
		if mode != "" {
			logs[i].Mode, logs[i].Folder = mode, false
		}
	}
	return logs
}

// members are the logs of an archive, nil where the file is none.
func members(path string, info fs.FileInfo) ([]Arg, []Passed, error) {
	if !info.Mode().IsRegular() {
		return nil, nil, nil // a pipe can be read once
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, nil, nil // told when the log is read
	}
	defer func() { _ = f.Close() }() // only read
	a, err := archiveOf(f, info.Size())
	if a == nil || err != nil {
		return nil, nil, err
	}
	return a.logs(path)
}

// split takes mode= off an argument unless the whole is a path that exists.
func split(arg string) (mode, path string, info fs.FileInfo, err error) {
	if info, err = os.Stat(arg); err == nil {
		return "", arg, info, nil
	}
	path = arg
	if m, p, ok := strings.Cut(arg, "="); ok && p != "" {
		mode, path = strings.TrimSpace(m), p
		info, err = os.Stat(path)
	}
	if errors.Is(err, fs.ErrNotExist) {
		err = fmt.Errorf("%s: no such file or folder", path)
	}
	return mode, path, info, wrap(path, err)
}

// folder returns the logs under dir.
func folder(dir string) (logs []Arg, passed []Passed, err error) {
	// A link given as the folder itself is followed, one inside it is not.
	root := dir
	if real, e := filepath.EvalSymlinks(dir); e == nil {
		root = real
	}
	var files []candidate
	err = filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		shown := filepath.Join(dir, strings.TrimPrefix(path, root))
		hidden := path != root && strings.HasPrefix(d.Name(), ".")
		why, document := "", false
		switch {
		case err != nil && path == root:
			return wrap(dir, err)
		case err != nil:
			why = strings.TrimPrefix(wrap(shown, err).Error(), shown+": ")
		case hidden && d.IsDir():
			return filepath.SkipDir
		case hidden || d.IsDir():
			return nil
		case d.Type()&fs.ModeSymlink != 0:
			why = "symbolic link"
		case !d.Type().IsRegular():
			why = "special file"
		case strings.EqualFold(filepath.Ext(path), ".toml"):
			// Its arrays could pass for the rows of a table.
			why, document = "a session sheet or a mapping, not a log", true
		default:
			c := candidate{path: shown}
			if in := filepath.Dir(shown); filepath.Clean(in) != filepath.Clean(dir) {
				c.mode = FolderMode(filepath.Base(in))
			}
			info, e := d.Info()
			if e != nil {
				why = e.Error()
				break
			}
			found, over, e := members(path, info)
			if found == nil && e == nil {
				why, document, c.kind = isLog(path)
				if why == "" {
					files = append(files, c)
				}
				break
			}
			for _, p := range over {
				passed = append(passed, Passed{filepath.Join(dir, strings.TrimPrefix(p.Path, root)), p.Why, p.Document})
			}
			if e != nil {
				why = e.Error()
			}
			for _, a := range found {
				a.Path = filepath.Join(dir, strings.TrimPrefix(a.Path, root))
				if a.Beside != "" {
					a.Beside = filepath.Join(dir, strings.TrimPrefix(a.Beside, root))
				}
				if a.Mode == "" {
					a.Mode, a.Folder = c.mode, c.mode != ""
				}
				logs = append(logs, a)
			}
		}
		if why != "" {
			passed = append(passed, Passed{shown, why, document})
		}
		return nil
	})
	found, over := pair(files)
	logs, passed = append(logs, found...), append(passed, over...)
	slices.SortStableFunc(logs, func(a, b Arg) int { return natural.Compare(a.Path, b.Path) })
	if err == nil && len(logs) == 0 {
		err = fmt.Errorf("%s: no log in this folder", dir)
	}
	return logs, passed, err
}

// isLog says why the file at path is no log, "" where it is one, whether it is plainly
// something else, and what a table holds.
func isLog(path string) (why string, document bool, kind csv.Contents) {
	f, err := os.Open(path)
	if err != nil {
		return errors.Unwrap(err).Error(), false, kind
	}
	defer func() { _ = f.Close() }() // only read
	head, in, _ := peek(f)
	if isZipped(head) {
		if z, err := newUnzip(head, in); err == nil {
			head, _, _ = peek(z)
			why, document = judge(head)
			return why, document && why == "", kindOf(head)
		}
	}
	why, document = judge(head)
	return why, document, kindOf(head)
}

// judge says why a file that begins with head is no log, "" where it is one, and
// whether it is plainly something else.
func judge(head []byte) (why string, document bool) {
	if len(head) == 0 {
		return "the file is empty", false
	}
	if tell(head) != nil && !isZIP(head) && !isTar(head) {
		return "", false
	}
	what := describe(head)
	if isZipped(head) {
		what = packings[packing(head)].name + " archive; unpack it first"
	}
	blank := len(bytes.Trim(head, "\x00")) == 0
	// An archive may hold logs, and data may be a log of a kind not known here.
	return "not a log: " + what, !strings.Contains(what, "unpack") && what != unknownData && !blank
}
