package archive

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/klauspost/compress/zstd"
)

// Finished keeps what finished logs gave, for analysis.Options.Memory: one file
// an entry in a folder of the user's cache. An entry carries the hash of its
// bytes and appears under its name at once, so that any number of processes may
// share the folder, and one that is damaged is as good as none. Nothing is lost
// with it but time.
//
// The folder is kept below a size by Close, which drops the entries that were not
// asked for the longest.
type Finished struct {
	dir  string
	most int64

	enc     *zstd.Encoder
	dec     *zstd.Decoder
	written atomic.Int64 // bytes
	mu      sync.Mutex
	used    []string // entries recalled, to be marked as used
}

// finishedMost is how many bytes of entries Close leaves, and staleTemp the age
// from which an unfinished entry was left by a process that is gone.
const (
	finishedMost = 1 << 30
	staleTemp    = time.Hour
)

// The frame of an entry: magic, SHA-256 of what follows it, size before
// compression, compressed body.
const (
	finishedMagic = "FRfin1\r\n"
	finishedHead  = len(finishedMagic) + sha256.Size + 8
	finishedTemp  = ".new-"
	finishedLimit = 1 << 30 // bytes of a body
)

// FinishedPath is where finished logs of this user are remembered: the folder
// fromrest/finished in the user's cache, which is $XDG_CACHE_HOME or ~/.cache on
// Linux, ~/Library/Caches on macOS and %LocalAppData% on Windows.
func FinishedPath() (string, error) {
	base, err := os.UserCacheDir()
	if err != nil {
		return "", err
	}
	return filepath.Join(base, "fromrest", "finished"), nil
}

// OpenFinished opens the entries in dir, which is made if it is not there.
func OpenFinished(dir string) (*Finished, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	f := &Finished{dir: dir, most: finishedMost}
	var err error
	if f.enc, err = zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithLowerEncoderMem(true)); err != nil {
		return nil, err
	}
	f.dec, err = zstd.NewReader(nil, zstd.WithDecoderMaxMemory(finishedLimit), zstd.WithDecoderLowmem(true))
	return f, err
}

// path is the file of an entry, spread over 256 folders.
func (f *Finished) path(key string) string {
	h := sha256.Sum256([]byte(key))
	name := hex.EncodeToString(h[:])
	return filepath.Join(f.dir, name[:2], name[2:])
}

// Recall implements analysis.Memory. A damaged entry is deleted.
func (f *Finished) Recall(key string) ([]byte, bool) {
	path := f.path(key)
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, false
	}
	body, err := f.unframe(data)
	if err != nil {
		os.Remove(path)
		return nil, false
	}
	f.mu.Lock()
	f.used = append(f.used, path)
	f.mu.Unlock()
	return body, true
}

func (f *Finished) unframe(data []byte) ([]byte, error) {
	if len(data) < finishedHead || !bytes.HasPrefix(data, []byte(finishedMagic)) {
		return nil, errors.New("no entry")
	}
	rest := data[len(finishedMagic)+sha256.Size:]
	if sha256.Sum256(rest) != [sha256.Size]byte(data[len(finishedMagic):]) {
		return nil, errors.New("damaged entry")
	}
	size := binary.LittleEndian.Uint64(rest)
	if size > finishedLimit {
		return nil, errors.New("entry beyond reason")
	}
	body, err := f.dec.DecodeAll(rest[8:], make([]byte, 0, size))
	if err == nil && uint64(len(body)) != size {
		err = errors.New("damaged entry")
	}
	return body, err
}

// Remember implements analysis.Memory. Where it cannot be written there is no
// entry, and the next call works it out again.
func (f *Finished) Remember(key string, body []byte) {
	if len(body) > finishedLimit {
		return
	}
	data := make([]byte, finishedHead, finishedHead+len(body)/2)
	binary.LittleEndian.PutUint64(data[finishedHead-8:], uint64(len(body)))
	data = f.enc.EncodeAll(body, data)
	sum := sha256.Sum256(data[len(finishedMagic)+sha256.Size:])
	copy(data, finishedMagic)
	copy(data[len(finishedMagic):], sum[:])
	path := f.path(key)
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return
	}
	// No flush to the disk: an entry cut by a power failure fails its hash.
	tmp, err := os.CreateTemp(f.dir, finishedTemp)
	if err != nil {
		return
	}
	_, err = tmp.Write(data)
	if cerr := tmp.Close(); err == nil {
		err = cerr
	}
	if err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		os.Remove(tmp.Name())
		return
	}
	f.written.Add(int64(len(data)))
}

// Close marks what was used and, if anything was written, brings the folder back
// below its size.
func (f *Finished) Close() error {
	f.enc.Close()
	f.dec.Close()
	f.mu.Lock()
	used := f.used
	f.used = nil
	f.mu.Unlock()
	now := time.Now()
	for _, path := range used {
		// An hour is fine enough to tell which was used the longest ago.
		if fi, err := os.Stat(path); err == nil && now.Sub(fi.ModTime()) > time.Hour {
			_ = os.Chtimes(path, now, now)
		}
	}
	if f.written.Load() == 0 {
		return nil
	}
	return f.prune()
}

// entry is a file of the folder.
type entry struct {
	path string
	size int64
	used time.Time
}

// prune deletes what was left unfinished and, where all entries take more than
// they may, those not used the longest until a tenth is free.
func (f *Finished) prune() error {
	var list []entry
	var total int64
	err := filepath.WalkDir(f.dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return nil // another process may have deleted it
		}
		fi, err := d.Info()
		if err != nil {
			return nil
		}
		if strings.HasPrefix(d.Name(), finishedTemp) {
			if time.Since(fi.ModTime()) > staleTemp {
				os.Remove(path)
			}
			return nil
		}
		list = append(list, entry{path, fi.Size(), fi.ModTime()})
		total += fi.Size()
		return nil
	})
	if err != nil || total <= f.most {
		return err
	}
	slices.SortFunc(list, func(a, b entry) int { return a.used.Compare(b.used) })
	for _, e := range list {
		if total <= f.most-f.most/10 {
			break
		}
		if err := os.Remove(e.path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("%s: %w", e.path, plain(err))
		}
		total -= e.size
	}
	return nil
}
