package format

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
)

// Arg is one log named by the user.
type Arg struct {
	Mode string // drive mode, "" where none was given
	Path string
	// Folder is set where the mode is the name of the sub-folder that the log lies
	// in: what a sheet says goes before it.
	Folder bool
}

// FolderMode is the drive mode that the name of a sub-folder gives the logs in it:
// the name itself, unless it is a date, as loggers name their folders.
func FolderMode(name string) string {
	if name == "." || name == string(filepath.Separator) || dated.MatchString(name) {
		return ""
	}
	return strings.TrimSpace(name)
}

// dated matches names that are made of the digits of a date or a time alone, such as
// 2026-06-14, 20260614 and 14.06.26_0958.
var dated = regexp.MustCompile(`^\d{2,8}([-_. T]?\d{1,6})*$`)

// Passed is a file of a folder that was passed over.
type Passed struct {
	Path, Why string
	// Document is set for what folders of logs hold beside logs and nobody takes
	// for one: sheets and mappings in TOML, pages, pictures, notes.
	Document bool
}

// Expand splits mode=path arguments and replaces a folder by the logs in it,
// found by content, in sorted order, those of sub-folders included: the name of a
// sub-folder is the mode of its logs where none was given (FolderMode). A path that
// exists is taken as it stands, even with an equals sign in its name. Every
// argument that names nothing gives an error; the others are returned all the
// same. It also says what was passed over in folders: symbolic links, special
// files, session sheets and mappings in TOML, and files that hold no known log.
// Hidden files are passed over silently.
func Expand(args []string) (logs []Arg, passed []Passed, errs []error) {
	for _, a := range args {
		mode, path, info, err := split(a)
		if err != nil {
			errs = append(errs, err)
			continue
		}
		if !info.IsDir() {
			logs = append(logs, Arg{Mode: mode, Path: path})
			continue
		}
		found, over, err := folder(path)
		passed = append(passed, over...)
		if err != nil {
			errs = append(errs, err)
		}
		for _, p := range found {
			a := Arg{Mode: mode, Path: p}
			if in := filepath.Dir(p); mode == "" && filepath.Clean(in) != filepath.Clean(path) {
				a.Mode = FolderMode(filepath.Base(in))
				a.Folder = a.Mode != ""
			}
			logs = append(logs, a)
		}
	}
	return logs, passed, errs
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
func folder(dir string) (logs []string, passed []Passed, err error) {
	// A link given as the folder itself is followed, one inside it is not.
	root := dir
	if real, e := filepath.EvalSymlinks(dir); e == nil {
		root = real
	}
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
			why, document = isLog(path)
		}
		if why != "" {
			passed = append(passed, Passed{shown, why, document})
		} else {
			logs = append(logs, shown)
		}
		return nil
	})
	if err == nil && len(logs) == 0 {
		err = fmt.Errorf("%s: no log in this folder", dir)
	}
	return logs, passed, err
}

// isLog says why the file at path is no log, "" where it is one, and whether it is
// plainly something else.
func isLog(path string) (why string, document bool) {
	f, err := os.Open(path)
	if err != nil {
		return errors.Unwrap(err).Error(), false
	}
	defer func() { _ = f.Close() }() // only read
	head, in, _ := peek(f)
	if len(head) == 0 {
		return "the file is empty", false
	}
	what := describe(head)
	blank := len(bytes.Trim(head, "\x00")) == 0
	zipped := isZipped(head)
	if zipped {
		if z, err := newUnzip(in); err == nil {
			head, _, _ = peek(z)
		}
	}
	if tell(head) != nil {
		return "", false
	}
	// An archive may hold logs, and data may be a log of a kind not known here.
	packed := zipped || strings.Contains(what, "unpack")
	return "not a log: " + what, !packed && what != unknownData && !blank
}
