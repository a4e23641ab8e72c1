package format

import (
	"bytes"
	"errors"
	"io"
	"path"
	"strings"
)

// Unpacked is a file taken from an archive. Its bytes are valid until the next.
type Unpacked struct {
	Name  string // the last element of its path
	Mode  string // by the folder that it lies in, "" for none
	Sheet bool   // a session sheet or a mapping in TOML, no log
	R     io.Reader
}

// IsArchive reports whether a file that begins with head holds several: ZIP, or tar,
// which may be compressed.
func IsArchive(head []byte) bool {
	if isZIP(head) || isTar(head) {
		return true
	}
	if !isZipped(head) {
		return false
	}
	z, err := newUnzip(head, bytes.NewReader(head))
	if err != nil {
		return false
	}
	inner, _, err := peek(z)
	return err == nil && isTar(inner)
}

// Unpack hands over the logs of an archive one by one, and the sheets beside them, and
// says what was passed over. It refuses what Expand refuses: too many files, and such as
// grow beyond reason. One folder that holds everything is no mode.
func Unpack(f io.ReaderAt, size int64, name string, take func(*Unpacked) error) ([]Passed, error) {
	a, err := archiveOf(f, size)
	if err != nil {
		return nil, err
	}
	if a == nil {
		return nil, errors.New("the file is no archive")
	}
	found, passed, err := a.logs(name)
	if err != nil {
		return nil, err
	}
	folder := ""
	for i, l := range found {
		switch in := path.Dir(l.Path); {
		case i == 0:
			folder = in
		case in != folder:
			folder = name // logs of several
		}
	}
	modes := map[string]string{}
	for _, l := range found {
		modes[l.Path] = l.Mode
		if folder != name {
			modes[l.Path] = ""
		}
		if l.Beside != "" {
			modes[l.Beside] = modes[l.Path]
		}
	}
	err = a.each(func(m *member) error {
		at := name + "/" + m.name
		u := &Unpacked{Name: path.Base(strings.ReplaceAll(m.name, `\`, "/")), R: m.r}
		var ok bool
		if u.Mode, ok = modes[at]; strings.EqualFold(path.Ext(m.name), ".toml") && !hidden(m.name) {
			u.Mode, u.Sheet, ok = "", true, true
		}
		if !ok {
			return nil
		}
		return take(u)
	})
	return passed, err
}
