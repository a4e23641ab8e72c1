package archive

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
)

// Fault is something in the archive that is not as it was stored.
type Fault struct {
	Where string // "log 3f2a…", "session ID, sheet 4", "database"
	Text  string
}

// String prints the fault in one line.
func (f Fault) String() string { return f.Where + ": " + f.Text }

// Checked counts what Verify looked at.
type Checked struct {
	Logs, Sheets, Results int
	Bytes                 int64 // raw bytes of the logs
}

// Verify reads everything back: the structure of the database, the hash of each
// log, sheet and result, and that every session's logs and sheet are there. The
// error is for an archive that could not be read at all.
func (a *Archive) Verify(ctx context.Context) (Checked, []Fault, error) {
	var n Checked
	faults, err := a.verifyDatabase(ctx)
	if err != nil {
		return n, faults, err
	}
	logs, err := a.Logs(ctx)
	if err != nil {
		return n, faults, err
	}
	for _, l := range logs {
		r, err := a.OpenLog(ctx, l.SHA256)
		if err == nil {
			_, err = io.Copy(io.Discard, r)
			r.Close()
		}
		if ctx.Err() != nil {
			return n, faults, ctx.Err()
		}
		if err != nil {
			faults = append(faults, Fault{"log " + short(l.SHA256), strings.TrimPrefix(err.Error(), "log "+short(l.SHA256)+": ")})
		}
		n.Logs++
		n.Bytes += l.Bytes
	}
	more, err := a.verifySessions(ctx, &n)
	return n, append(faults, more...), err
}

func (a *Archive) verifyDatabase(ctx context.Context) ([]Fault, error) {
	var faults []Fault
	for _, check := range []string{"PRAGMA integrity_check", "SELECT 'a row of '||\"table\"||' points nowhere' FROM pragma_foreign_key_check"} {
		rows, err := a.db.QueryContext(ctx, check)
		if err != nil {
			return nil, err
		}
		for rows.Next() {
			var text string
			if err := rows.Scan(&text); err != nil {
				rows.Close()
				return nil, err
			}
			if text != "ok" {
				faults = append(faults, Fault{"database", text})
			}
		}
		rows.Close()
		if err := rows.Err(); err != nil {
			return nil, err
		}
	}
	return faults, nil
}

func (a *Archive) verifySessions(ctx context.Context, n *Checked) ([]Fault, error) {
	sessions, err := a.Sessions(ctx)
	if err != nil {
		return nil, err
	}
	var faults []Fault
	for _, s := range sessions {
		found := s.Sheet == 0
		rows, err := a.db.QueryContext(ctx, "SELECT revision, body, sha256 FROM sheets WHERE session = ?", s.ID)
		if err != nil {
			return nil, err
		}
		for rows.Next() {
			var revision int
			var body, sha string
			if err := rows.Scan(&revision, &body, &sha); err != nil {
				rows.Close()
				return nil, err
			}
			n.Sheets++
			found = found || revision == s.Sheet
			if hashOf([]byte(body)) != sha {
				faults = append(faults, Fault{fmt.Sprintf("session %s, sheet %d", s.ID, revision), "the stored bytes are damaged"})
			}
		}
		rows.Close()
		if err := rows.Err(); err != nil {
			return nil, err
		}
		if !found {
			faults = append(faults, Fault{"session " + s.ID, "its current sheet is missing"})
		}
		results, err := a.Results(ctx, s.ID)
		if err != nil {
			return nil, err
		}
		for _, r := range results {
			n.Results++
			if _, err := a.Result(ctx, s.ID, r.Number); err != nil {
				faults = append(faults, Fault{fmt.Sprintf("session %s, result %d", s.ID, r.Number), "the stored bytes are damaged"})
			}
		}
	}
	return faults, nil
}

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
		err = e.write(filepath.Join("logs", FileName(l.Mode, ""), FileName(l.Name, "log")), r)
		r.Close()
		if err != nil {
			return e.files, err
		}
	}
	sheets, err := a.History(ctx, id)
	if err != nil {
		return e.files, err
	}
	for _, sh := range sheets {
		name := filepath.Join("sheets", fmt.Sprintf("%04d.toml", sh.Revision))
		if sh.Revision == s.Sheet {
			if err := e.write("session.toml", strings.NewReader(sh.Body)); err != nil {
				return e.files, err
			}
		}
		if err := e.write(name, strings.NewReader(sh.Body)); err != nil {
			return e.files, err
		}
	}
	results, err := a.Results(ctx, id)
	if err != nil {
		return e.files, err
	}
	for _, r := range results {
		full, err := a.Result(ctx, id, r.Number)
		if err != nil {
			return e.files, err
		}
		if err := e.write(filepath.Join("results", fmt.Sprintf("%04d.json", r.Number)), strings.NewReader(string(full.Body))); err != nil {
			return e.files, err
		}
	}
	return e.files, nil
}

type exporter struct {
	dir   string
	taken map[string]bool
	files []string
}

// write copies r into a new file; a second file of the same name gets a number.
func (e *exporter) write(name string, r io.Reader) error {
	ext := filepath.Ext(name)
	stem := strings.TrimSuffix(name, ext)
	for i := 2; e.taken[strings.ToLower(name)]; i++ {
		name = fmt.Sprintf("%s-%d%s", stem, i, ext)
	}
	e.taken[strings.ToLower(name)] = true
	path := filepath.Join(e.dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return err
	}
	_, err = io.Copy(f, r)
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		os.Remove(path)
		var pe *os.PathError
		if !errors.As(err, &pe) {
			err = fmt.Errorf("%s: %w", path, err)
		}
		return full(err)
	}
	e.files = append(e.files, path)
	return nil
}

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
	for len(name) > 120 {
		_, cut := lastRune(name)
		name = name[:cut]
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

func lastRune(s string) (rune, int) {
	for i := len(s) - 1; i >= 0; i-- {
		if s[i]&0xc0 != 0x80 {
			return rune(s[i]), i
		}
	}
	return 0, 0
}
