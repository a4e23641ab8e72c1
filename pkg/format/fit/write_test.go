package fit

import "encoding/binary"

// writer writes FIT files byte by byte, so that tests can write what no library
// would.
type writer struct {
	head int
	body []byte
	big  bool
	// noHeaderCRC leaves the header's checksum 0; noSize the size.
	noHeaderCRC, noSize bool
}

func newWriter(head int) *writer { return &writer{head: head} }

func (w *writer) order() binary.AppendByteOrder {
	if w.big {
		return binary.BigEndian
	}
	return binary.LittleEndian
}

// define writes a definition; fields are number, base type, size.
func (w *writer) define(local byte, global uint16, fields ...byte) {
	arch := byte(0)
	if w.big {
		arch = 1
	}
	w.body = append(w.body, headerDefinition|local, 0, arch)
	w.body = w.order().AppendUint16(w.body, global)
	w.body = append(w.body, byte(len(fields)/3))
	for i := 0; i < len(fields); i += 3 {
		w.body = append(w.body, fields[i], fields[i+2], fields[i+1])
	}
}

func (w *writer) data(head byte, payload []byte) {
	w.body = append(append(w.body, head), payload...)
}

// values packs numbers in the given sizes: value, size, value, size, ...
func (w *writer) values(head byte, pairs ...int64) {
	w.body = append(w.body, head)
	for i := 0; i < len(pairs); i += 2 {
		switch v := pairs[i]; pairs[i+1] {
		case 1:
			w.body = append(w.body, byte(v))
		case 2:
			w.body = w.order().AppendUint16(w.body, uint16(v))
		case 4:
			w.body = w.order().AppendUint32(w.body, uint32(v))
		}
	}
}

func (w *writer) file() []byte {
	b := []byte{byte(w.head), 0x20, 0x8B, 0x08, 0, 0, 0, 0, '.', 'F', 'I', 'T'}
	if !w.noSize {
		binary.LittleEndian.PutUint32(b[4:], uint32(len(w.body)))
	}
	if w.head == 14 {
		c := checksum(0, b)
		if w.noHeaderCRC {
			c = 0
		}
		b = binary.LittleEndian.AppendUint16(b, c)
	}
	b = append(b, w.body...)
	return binary.LittleEndian.AppendUint16(b, checksum(0, b))
}
