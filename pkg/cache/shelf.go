package cache

import (
	"errors"
	"os"
	"sync"

	"github.com/klauspost/compress/zstd"
)

// Shelf holds plain data outside the memory for as long as it is open: in a file without
// a lasting name. It is safe for concurrent use.
type Shelf struct {
	mu  sync.Mutex
	f   *os.File
	end int64
	enc *zstd.Encoder
	dec *zstd.Decoder
}

// Place is where something stands on a shelf.
type Place struct {
	at int64
	n  int // bytes, 0 for nowhere
}

// Is reports whether something stands there.
func (p Place) Is() bool { return p.n > 0 }

// OpenShelf opens an empty shelf in the folder for temporary files.
func OpenShelf() (*Shelf, error) {
	f, err := os.CreateTemp("", "fromrest-")
	if err != nil {
		return nil, err
	}
	_ = os.Remove(f.Name()) // where an open file keeps its name, Close does it
	s := &Shelf{f: f}
	s.enc, err = zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest), zstd.WithEncoderConcurrency(1), zstd.WithLowerEncoderMem(true))
	if err == nil {
		s.dec, err = zstd.NewReader(nil, zstd.WithDecoderConcurrency(1), zstd.WithDecoderLowmem(true))
	}
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return s, nil
}

// Put lays data on the shelf.
func (s *Shelf) Put(data any) (Place, error) {
	body, err := Encode(data)
	if err != nil {
		return Place{}, err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	body = s.enc.EncodeAll(body, nil)
	p := Place{s.end, len(body)}
	if _, err := s.f.WriteAt(body, s.end); err != nil {
		return Place{}, err
	}
	s.end += int64(len(body))
	return p, nil
}

// Get fills in what to points to with what was put at a place.
func (s *Shelf) Get(p Place, to any) error {
	packed := make([]byte, p.n)
	if _, err := s.f.ReadAt(packed, p.at); err != nil {
		return err
	}
	s.mu.Lock()
	body, err := s.dec.DecodeAll(packed, nil)
	s.mu.Unlock()
	if err != nil {
		return err
	}
	return Decode(body, to)
}

// Close gives up what is on the shelf.
func (s *Shelf) Close() error {
	if s.dec != nil {
		s.dec.Close()
	}
	err := s.f.Close()
	if e := os.Remove(s.f.Name()); e != nil && !errors.Is(e, os.ErrNotExist) {
		err = errors.Join(err, e)
	}
	return err
}
