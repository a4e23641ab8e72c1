package web

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/format"
)

// mostSheet is far beyond any sheet that a person writes, in bytes (assumed).
const mostSheet = 4 << 20

// seen is what was known of a file at the last look.
type seen struct {
	size  int64
	mod   time.Time
	still int // looks since it last changed
	taken bool
	told  bool
}

// Watch takes the logs of a folder, sub-folders included, into a session named
// after it, those that are there and those that appear, each once it has stopped
// growing. The name of a sub-folder is the mode of the
// logs in it, and a session.toml in the folder is the sheet of a session without one. Symbolic links, hidden and special files are passed over with a
// note. It returns when ctx ends.
func (s *Server) Watch(ctx context.Context, dir string) error {
	root, err := filepath.Abs(dir)
	if err != nil {
		return err
	}
	st, err := os.Stat(root)
	if err != nil {
		return err
	}
	if !st.IsDir() {
		return &fs.PathError{Op: "watch", Path: dir, Err: errors.New("not a folder")}
	}
	title := "Watched folder " + filepath.Base(root)
	sess, err := s.arch.FindSession(ctx, title)
	if errors.Is(err, archive.ErrNotFound) {
		sess, err = s.arch.NewSession(ctx, title)
	}
	if err != nil {
		return err
	}
	s.log.Printf("watching %s: its logs go into session %s", root, sess.ID)
	files := map[string]*seen{}
	tick := time.NewTicker(watchEvery)
	defer tick.Stop()
	for {
		s.look(ctx, sess.ID, root, files)
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		}
	}
}

// look goes once through the folder. What cannot be read, the next look will tell.
func (s *Server) look(ctx context.Context, id, root string, files map[string]*seen) {
	_ = filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if err != nil || path == root {
			return nil // gone again, or not ours to read
		}
		switch hidden := strings.HasPrefix(d.Name(), "."); {
		case hidden && d.IsDir():
			return filepath.SkipDir
		case hidden || d.IsDir():
			return nil
		}
		f := files[path]
		if f == nil {
			f = &seen{size: -1}
			files[path] = f
		}
		if !d.Type().IsRegular() {
			if !f.told {
				f.told = true
				s.log.Printf("%s: passed over, not a plain file", path)
			}
			return nil
		}
		info, err := d.Info()
		if err != nil {
			return nil
		}
		if info.Size() != f.size || !info.ModTime().Equal(f.mod) {
			f.size, f.mod, f.still, f.taken = info.Size(), info.ModTime(), 0, false
			return nil
		}
		f.still++
		if f.still < quietLooks || f.taken || info.Size() == 0 || info.Size() > s.opts.MaxLog {
			return nil
		}
		f.taken = s.takeFile(ctx, id, root, path)
		return nil
	})
}

// takeFile imports one file and reports whether it need not be tried again.
func (s *Server) takeFile(ctx context.Context, id, root, path string) bool {
	in, err := os.Open(path)
	if err != nil {
		s.log.Printf("%s: %v", path, err)
		return true
	}
	defer func() { _ = in.Close() }() // only read
	rel, err := filepath.Rel(root, path)
	if err != nil {
		return true
	}
	if strings.EqualFold(filepath.Ext(path), ".toml") {
		return s.takeSheet(ctx, id, rel, path, in)
	}
	mode := ""
	if parent := filepath.Dir(rel); parent != "." {
		mode = clean(format.FolderMode(filepath.Base(parent)), mostMode)
	}
	st, err := s.importLog(ctx, id, clean(filepath.Base(rel), mostName), mode, in)
	switch {
	case errors.Is(err, archive.ErrFull) || errors.Is(err, context.Canceled):
		return false
	case err != nil:
		s.log.Printf("%s: %v", path, err)
	case !st.InSession:
		s.log.Printf("%s: taken", path)
	}
	return true
}

// takeSheet makes the folder's session.toml the session's sheet where it has none yet,
// and reports whether it need not be tried again: runs that it names may be still to come.
func (s *Server) takeSheet(ctx context.Context, id, rel, path string, in io.Reader) bool {
	if rel != sheetName {
		s.log.Printf("%s: passed over: the sheet of a watched folder is %s in it", path, sheetName)
		return true
	}
	text, err := io.ReadAll(io.LimitReader(in, mostSheet+1))
	if err != nil || len(text) > mostSheet {
		s.log.Printf("%s: passed over: no sheet of a session", path)
		return true
	}
	w, err := s.work(s.ctx, id)
	if err != nil {
		return false
	}
	w.mu.Lock()
	mine := strings.TrimSpace(w.sheet.Body) != ""
	if !mine {
		err = w.keep(ctx, archive.Change{Base: w.sheet.Revision, Body: strings.ReplaceAll(string(text), "\r\n", "\n"), Note: "sheet of the watched folder"})
	}
	w.mu.Unlock()
	var refused *errEdit
	switch {
	case mine:
		s.log.Printf("%s: passed over: the session has a sheet already", path)
	case errors.As(err, &refused):
		s.log.Printf("%s: %v", path, err)
		return true
	case err != nil:
		return false
	default:
		s.log.Printf("%s: taken as the sheet", path)
		w.touched()
	}
	return true
}
