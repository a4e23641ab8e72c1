package format

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
	"strconv"
	"strings"
)

// archive is a file of several: ZIP, or tar, which may be compressed.
type archive struct {
	name string // "ZIP archive"
	each func(visit func(m *member) error) error
}

// member is a file in an archive. Its reader is valid while it is visited.
type member struct {
	name string
	r    io.Reader
}

// errFound ends a walk through an archive.
var errFound = errors.New("found")

// isZIP reports whether a file that begins with head is a ZIP archive.
func isZIP(head []byte) bool {
	return bytes.HasPrefix(head, []byte("PK\x03\x04")) || bytes.HasPrefix(head, []byte("PK\x05\x06"))
}

// isTar reports whether a file that begins with head is a tar archive: the first
// header's checksum, which is the sum of its bytes with itself as blanks, is right.
func isTar(head []byte) bool {
	const block, at, length = 512, 148, 8
	if len(head) < block {
		return false
	}
	said, err := strconv.ParseInt(strings.Trim(string(head[at:at+length]), " \x00"), 8, 64)
	sum := int64(length * ' ')
	for i, c := range head[:block] {
		if i < at || i >= at+length {
			sum += int64(c)
		}
	}
	return err == nil && said == sum && head[0] != 0
}

// archiveOf is the archive that f, a whole file, is; nil where it is none.
func archiveOf(f io.ReaderAt, size int64) (*archive, error) {
	head := make([]byte, min(headSize, size))
	if _, err := f.ReadAt(head, 0); err != nil && !errors.Is(err, io.EOF) {
		return nil, err
	}
	whole := func() io.Reader { return io.NewSectionReader(f, 0, size) }
	switch {
	case isZIP(head):
		z, err := zip.NewReader(f, size)
		if err != nil {
			return nil, fmt.Errorf("the ZIP archive is damaged or cut off: %w", err)
		}
		return zipArchive(z), nil
	case isTar(head):
		return tarArchive(func() (io.Reader, error) { return whole(), nil }), nil
	case isZipped(head):
		open := func() (io.Reader, error) { return newUnzip(head, whole()) }
		z, err := open()
		if err != nil {
			return nil, nil // the reader of logs says what is wrong
		}
		if inner, _, _ := peek(z); isTar(inner) {
			return tarArchive(open), nil
		}
	}
	return nil, nil
}

func zipArchive(z *zip.Reader) *archive {
	return &archive{name: "ZIP archive", each: func(visit func(*member) error) error {
		if len(z.File) > mostMembers {
			return fmt.Errorf("the ZIP archive holds %d files, more than %d", len(z.File), mostMembers)
		}
		for _, f := range z.File {
			if f.FileInfo().IsDir() {
				continue
			}
			r, err := f.Open()
			if err != nil {
				return fmt.Errorf("%s: %w", f.Name, err)
			}
			err = visit(&member{f.Name, &guarded{Reader: r, packed: int64(min(f.CompressedSize64, 1<<62))}})
			_ = r.Close() // only read
			if err != nil {
				return err
			}
		}
		return nil
	}}
}

func tarArchive(open func() (io.Reader, error)) *archive {
	return &archive{name: "tar archive", each: func(visit func(*member) error) error {
		r, err := open()
		if err != nil {
			return err
		}
		t := tar.NewReader(r)
		for n := 0; ; n++ {
			h, err := t.Next()
			switch {
			case errors.Is(err, io.EOF):
				return nil
			case err != nil:
				return fmt.Errorf("the tar archive is damaged or cut off: %w", err)
			case n >= mostMembers:
				return fmt.Errorf("the tar archive holds more than %d files", mostMembers)
			case h.Typeflag != tar.TypeReg:
				continue
			}
			if err := visit(&member{h.Name, t}); err != nil {
				return err
			}
		}
	}}
}

// logs lists what logs the archive holds, an accelerometer's table with the log that
// it goes with, and what was passed over.
func (a *archive) logs(of string) (found []Arg, passed []Passed, err error) {
	var all []candidate
	total := 0
	err = a.each(func(m *member) error {
		total++
		name := path.Clean(strings.ReplaceAll(m.name, `\`, "/"))
		if hidden(name) {
			return nil
		}
		head, in, err := peek(m.r)
		if err == nil && isZipped(head) {
			var z *unzip
			if z, err = newUnzip(head, in); err == nil {
				head, _, err = peek(z)
			}
		}
		if err != nil {
			return fmt.Errorf("%s: %w", m.name, err)
		}
		shown := of + "/" + m.name
		if why, document := judge(head); why != "" {
			passed = append(passed, Passed{shown, why, document})
			return nil
		}
		all = append(all, candidate{path: shown, mode: FolderMode(path.Base(path.Dir(name))), kind: kindOf(head)})
		return nil
	})
	found, over := pair(all)
	passed = append(passed, over...)
	if err == nil && len(found) == 0 {
		err = fmt.Errorf("%s with no log among its %d files%s", a.name, total, a.what(passed))
	}
	return found, passed, err
}

// what says what kind of file an archive without logs is where its names tell.
func (a *archive) what(passed []Passed) string {
	for _, p := range passed {
		switch {
		case strings.HasSuffix(p.Path, "[Content_Types].xml"):
			return ": it is an office document; save its table as CSV"
		case strings.HasSuffix(strings.ToLower(p.Path), ".kml"):
			return ": it is KMZ; " + toGPX("kml")
		}
	}
	return ""
}

// hidden reports whether a part of a path begins with a dot, or belongs to what
// packers of one system add for themselves.
func hidden(name string) bool {
	return slices.ContainsFunc(strings.Split(name, "/"), func(s string) bool {
		return s == "__MACOSX" || strings.HasPrefix(s, ".") && s != "." && s != ".."
	})
}

// openMember gives the bytes of a log in an archive, whose path is that of the archive
// with the member's name behind it; ok is false where the path is none.
func openMember(name string, use func(io.Reader) error) (ok bool, err error) {
	for i, c := range name {
		if c != '/' && c != os.PathSeparator || i == 0 {
			continue
		}
		info, err := os.Stat(name[:i])
		if err != nil {
			return false, nil
		}
		if info.IsDir() {
			continue
		}
		f, err := os.Open(name[:i])
		if err != nil {
			return true, err
		}
		defer func() { _ = f.Close() }() // only read
		a, err := archiveOf(f, info.Size())
		if err != nil || a == nil {
			return true, cmp.Or(err, errors.New("no such log: the file is no archive"))
		}
		err = a.each(func(m *member) error {
			if m.name != name[i+1:] {
				return nil
			}
			return cmp.Or(use(m.r), errFound)
		})
		switch {
		case errors.Is(err, errFound):
			return true, nil
		case err == nil:
			return true, fmt.Errorf("no such file in the %s: %w", a.name, fs.ErrNotExist)
		}
		return true, err
	}
	return false, nil
}

// single is the only log of an archive that comes as a stream, which is held in
// memory, and what to call it.
func single(r io.Reader, name string) (*bytes.Reader, *Arg, error) {
	b, err := io.ReadAll(io.LimitReader(r, mostHeld+1))
	if err != nil {
		return nil, nil, err
	}
	if len(b) > mostHeld {
		return nil, nil, fmt.Errorf("an archive of more than %d MiB has to be a file", mostHeld>>20)
	}
	in := bytes.NewReader(b)
	a, err := archiveOf(in, int64(len(b)))
	if err != nil {
		return nil, nil, err
	}
	found, _, err := a.logs(name)
	if err != nil {
		return nil, nil, err
	}
	if len(found) > 1 {
		var names []string
		for _, l := range found[:min(len(found), 3)] {
			names = append(names, strings.TrimPrefix(l.Path, name+"/"))
		}
		return nil, nil, fmt.Errorf("%s of %d logs (%s, …): unpack it, or name one as %s/%s", a.name, len(found), strings.Join(names, ", "), name, names[0])
	}
	return in, &found[0], nil
}
