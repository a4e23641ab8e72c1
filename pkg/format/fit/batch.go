package fit

import "encoding/binary"

// Bounds of a batch. tormoder/fit allocates up to 812 bytes for each byte of
// its input, so a batch is what bounds memory.
const (
	batchBytes    = 1 << 18
	batchMessages = 4096
)

// batch collects messages into a small well-formed FIT file for a library.
// Each message is decoded once, and a message that a library cannot read costs
// at most its batch.
type batch struct {
	buf    []byte
	slots  [16]*plan // what the local types are defined as
	next   int       // slot to use next
	places []int64   // where each message began in the input
	kinds  []uint16
	tried  []tried // the records among them, in their order
}

// tried is a record in a batch: its layout, and what was read of it directly
// where that is on trial.
type tried struct {
	plan *plan
	here record
}

const batchHeader = 14

// opening is a file_id, which the libraries want first.
var opening = []byte{headerDefinition, 0, 0, 0, 0, 1, 0, 1, typeEnum, 0, 4}

func (b *batch) reset() {
	b.buf = append(b.buf[:0], make([]byte, batchHeader)...)
	b.buf = append(b.buf, opening...)
	b.slots, b.next = [16]*plan{}, 0
	b.places, b.kinds, b.tried = b.places[:0], b.kinds[:0], b.tried[:0]
}

// add appends a message that began at place and reports whether the batch is
// full.
func (b *batch) add(p *plan, global uint16, payload []byte, stamp uint32, place int64) bool {
	if len(b.buf) == 0 {
		b.reset()
	}
	slot := -1
	for i, s := range b.slots {
		if s == p {
			slot = i
		}
	}
	if slot < 0 {
		slot = b.next
		b.next = (b.next + 1) & 15
		b.slots[slot] = p
		b.buf = append(b.buf, headerDefinition|byte(slot))
		b.buf = append(b.buf, p.def[1:]...)
	}
	b.buf = append(b.buf, byte(slot))
	if p.stamp {
		b.buf = p.order.(binary.AppendByteOrder).AppendUint32(b.buf, stamp)
	}
	for _, f := range p.parts {
		b.buf = append(b.buf, payload[f.at:f.at+int(f.size)]...)
	}
	b.places = append(b.places, place)
	b.kinds = append(b.kinds, global)
	if global == mesgRecord {
		t := tried{plan: p}
		if p.trust == untried {
			t.here = p.read(payload, stamp)
		}
		b.tried = append(b.tried, t)
		if p.trust == untried && len(b.tried) >= trial {
			return true // to know soon
		}
	}
	return len(b.buf) >= batchBytes || len(b.places) >= batchMessages
}

// file closes the batch and returns it as a FIT file.
func (b *batch) file() []byte {
	h := b.buf[:batchHeader]
	h[0], h[1] = batchHeader, 0x20
	binary.LittleEndian.PutUint16(h[2:], 2118)
	binary.LittleEndian.PutUint32(h[4:], uint32(len(b.buf)-batchHeader))
	copy(h[8:], ".FIT")
	binary.LittleEndian.PutUint16(h[12:], checksum(0, h[:12]))
	b.buf = binary.LittleEndian.AppendUint16(b.buf, checksum(0, b.buf))
	return b.buf
}
