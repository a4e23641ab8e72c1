package cache

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
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

// Disk keeps what finished logs gave, for analysis.Options.Memory: one file
// an entry in a folder of the user's cache. An entry carries the hash of its
// bytes and appears under its name at once, so that any number of processes may
// share the folder, and one that is damaged is as good as none. Nothing is lost
// with it but time.
//
// The folder is kept below a size by Close, which drops the entries that were not
// asked for the longest.
type Disk struct {
	dir  string
	most int64

	enc     *zstd.Encoder
	dec     *zstd.Decoder
	written atomic.Int64 // bytes
	mu      sync.Mutex
	used    []string // entries recalled, to be marked as used
}

// What a folder may come to.
const (
	diskMost  = 1 << 30   // bytes; what Close leaves. Origin: assumed, some ten thousand logs.
	diskSpare = 10        // parts of diskMost, one of which is free after tidying. Origin: assumed.
	staleTemp = time.Hour // an unfinished entry that is older was left by a process that is gone. Origin: assumed.
	fineUse   = time.Hour // how finely the last use is told. Origin: assumed, enough to tell which was used the longest ago.
)

// The frame of an entry: magic, SHA-256 of what follows it, size before
// compression, compressed body.
const (
	magic      = "FRfin1\r\n"
	headSize   = len(magic) + sha256.Size + 8
	tempPrefix = ".new-"
	bodyMost   = 1 << 30 // bytes of a body
)

// Folder is where finished logs of this user are remembered: the folder
// fromrest/finished in the user's cache, which is $XDG_CACHE_HOME or ~/.cache on
// Linux, ~/Library/Caches on macOS and %LocalAppData% on Windows.
func Folder() (string, error) {
	base, err := os.UserCacheDir()
	if err != nil {
		return "", err
	}
	return filepath.Join(base, "fromrest", "finished"), nil
}

// OpenDisk opens the entries in dir, which is made if it is not there.
func OpenDisk(dir string) (*Disk, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, err
	}
	d := &Disk{dir: dir, most: diskMost}
	var err error
	if d.enc, err = zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithLowerEncoderMem(true)); err != nil {
		return nil, err
	}
	d.dec, err = zstd.NewReader(nil, zstd.WithDecoderMaxMemory(bodyMost), zstd.WithDecoderLowmem(true))
	return d, err
}

// path is the file of an entry, spread over 256 folders.
func (d *Disk) path(key string) string {
	h := sha256.Sum256([]byte(key))
	name := hex.EncodeToString(h[:])
	return filepath.Join(d.dir, name[:2], name[2:])
}

// Recall implements Memory. A damaged entry is deleted.
func (d *Disk) Recall(key string) ([]byte, bool) {
	path := d.path(key)
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, false
	}
	body, err := d.unframe(data)
	if err != nil {
		_ = os.Remove(path) // another process may have
		return nil, false
	}
	d.mu.Lock()
	d.used = append(d.used, path)
	d.mu.Unlock()
	return body, true
}

func (d *Disk) unframe(data []byte) ([]byte, error) {
	if len(data) < headSize || !bytes.HasPrefix(data, []byte(magic)) {
		return nil, errors.New("no entry")
	}
	rest := data[len(magic)+sha256.Size:]
	if sha256.Sum256(rest) != [sha256.Size]byte(data[len(magic):]) {
		return nil, errors.New("damaged entry")
	}
	size := binary.LittleEndian.Uint64(rest)
	if size > bodyMost {
		return nil, errors.New("entry beyond reason")
	}
	body, err := d.dec.DecodeAll(rest[8:], make([]byte, 0, size))
	if err == nil && uint64(len(body)) != size {
		err = errors.New("damaged entry")
	}
	return body, err
}

// Remember implements Memory. Where it cannot be written there is no
// entry, and the next call works it out again.
func (d *Disk) Remember(key string, body []byte) {
	if len(body) > bodyMost {
		return
	}
	data := make([]byte, headSize, headSize+len(body)/2)
	binary.LittleEndian.PutUint64(data[headSize-8:], uint64(len(body)))
	data = d.enc.EncodeAll(body, data)
	sum := sha256.Sum256(data[len(magic)+sha256.Size:])
	copy(data, magic)
	copy(data[len(magic):], sum[:])
	path := d.path(key)
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return
	}
	// No flush to the disk: an entry cut by a power failure fails its hash.
	tmp, err := os.CreateTemp(d.dir, tempPrefix)
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
		_ = os.Remove(tmp.Name())
		return
	}
	d.written.Add(int64(len(data)))
}

// Close marks what was used and, if anything was written, brings the folder back
// below its size.
func (d *Disk) Close() error {
	_ = d.enc.Close()
	d.dec.Close()
	d.mu.Lock()
	used := d.used
	d.used = nil
	d.mu.Unlock()
	now := time.Now()
	for _, path := range used {
		if fi, err := os.Stat(path); err == nil && now.Sub(fi.ModTime()) > fineUse {
			_ = os.Chtimes(path, now, now)
		}
	}
	if d.written.Load() == 0 {
		return nil
	}
	return d.prune()
}

// entry is a file of the folder.
type entry struct {
	path string
	size int64
	used time.Time
}

// prune deletes what was left unfinished and, where all entries take more than
// they may, those not used the longest until a tenth is free.
func (d *Disk) prune() error {
	var list []entry
	var total int64
	err := filepath.WalkDir(d.dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return nil // another process may have deleted it
		}
		fi, err := e.Info()
		if err != nil {
			return nil
		}
		if strings.HasPrefix(e.Name(), tempPrefix) {
			if time.Since(fi.ModTime()) > staleTemp {
				_ = os.Remove(path)
			}
			return nil
		}
		list = append(list, entry{path, fi.Size(), fi.ModTime()})
		total += fi.Size()
		return nil
	})
	if err != nil || total <= d.most {
		return err
	}
	slices.SortFunc(list, func(a, b entry) int { return a.used.Compare(b.used) })
	for _, e := range list {
		if total <= d.most-d.most/diskSpare {
			break
		}
		if err := os.Remove(e.path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		total -= e.size
	}
	return nil
}
