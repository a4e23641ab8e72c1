package archive

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf8"
)

// Export writes a session into a new folder: its logs byte for byte under
// logs/, each mode in a folder of its own, the sheet, every earlier sheet under
// sheets/ and the results under results/. It returns the files written. A file
// that exists is not overwritten.
func (a *Archive) Export(ctx context.Context, id, dir string) ([]string, error) {
	s, err := a.Session(ctx, id)
	if err != nil {
		return nil, err
	}
	e := exporter{dir: dir, taken: map[string]bool{}}
	for _, l := range s.Logs {
		r, err := a.OpenLog(ctx, l.SHA256)
		if err != nil {
			return e.files, err
		}
		e.write(filepath.Join("logs", FileName(l.Mode, ""), FileName(l.Name, "log")), r)
		_ = r.Close()
	}
	sheets, err := a.History(ctx, id)
	if err != nil || e.err != nil {
		return e.files, cmp.Or(e.err, err)
	}
	for _, sh := range sheets {
		if sh.Revision == s.Sheet {
			e.write("session.toml", strings.NewReader(sh.Body))
		}
		e.write(filepath.Join("sheets", fmt.Sprintf("%04d.toml", sh.Revision)), strings.NewReader(sh.Body))
	}
	results, err := a.Results(ctx, id)
	if err != nil || e.err != nil {
		return e.files, cmp.Or(e.err, err)
	}
	for _, r := range results {
		full, err := a.Result(ctx, id, r.Number)
		if err != nil {
			return e.files, err
		}
		e.write(filepath.Join("results", fmt.Sprintf("%04d.json", r.Number)), bytes.NewReader(full.Body))
	}
	return e.files, e.err
}

// exporter writes files into a folder until one cannot be written.
type exporter struct {
	dir   string
	taken map[string]bool // names in lower case
	files []string
	err   error
}

// write copies r into a new file; a second file of the same name gets a number.
func (e *exporter) write(name string, r io.Reader) {
	if e.err != nil {
		return
	}
	ext := filepath.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	for i := 2; e.taken[strings.ToLower(name)]; i++ {
		name = fmt.Sprintf("%s-%d%s", stem, i, ext)
	}
	e.taken[strings.ToLower(name)] = true
	path := filepath.Join(e.dir, name)
	if e.err = writeNew(path, r); e.err == nil {
		e.files = append(e.files, path)
	}
}

// writeNew copies r into a file that must not exist.
func writeNew(path string, r io.Reader) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = io.Copy(f, r)
	if err = cmp.Or(err, f.Close()); err == nil {
		return nil
	}
	_ = os.Remove(path)
	var pe *os.PathError
	if !errors.As(err, &pe) {
		err = fmt.Errorf("%s: %w", path, err)
	}
	return full(err)
}

// mostName is how many bytes a file's name may have: half of what the common file
// systems take, so that a number and an ending still fit.
const mostName = 120

// FileName makes a name from outside safe to create a file with: no folder, no
// control characters, nothing that a system reserves, at most 120 bytes. An
// empty result is replaced by fallback.
func FileName(name, fallback string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || strings.ContainsRune(`<>:"|?*`, r) || r == '\uFFFD' {
			return '_'
		}
		return r
	}, name)
	for len(name) > mostName {
		_, last := utf8.DecodeLastRuneInString(name)
		name = name[:len(name)-last]
	}
	name = strings.Trim(name, " .")
	switch strings.ToLower(strings.SplitN(name, ".", 2)[0]) {
	case "con", "prn", "aux", "nul", "com1", "com2", "com3", "com4", "lpt1", "lpt2", "lpt3":
		name = "_" + name
	}
	if name == "" {
		return fallback
	}
	return name
}
