package fit

import "encoding/binary"

// Header bits of a message.
const (
	headerCompressed = 0x80
	headerDefinition = 0x40
	headerDeveloper  = 0x20
	headerReserved   = 0x10
)

// definition is a definition message: how the data messages of one local type
// are laid out.
type definition struct {
	global uint16
	arch   byte // 0 little endian, 1 big
	order  byteOrder
	size   int // of a data message, without its header byte
	time   int // where the time stamp lies in it, -1 for nowhere
	fields []placed

	want  *wanted      // nil where the message is stepped over
	where *[256]placed // the wanted fields by their number, of size 0 where absent
	parts []placed     // the wanted fields in their order
	odd   []string     // wanted fields that are not as the profile has them, to be told
}

// byteOrder reads and writes numbers.
type byteOrder interface {
	binary.ByteOrder
	binary.AppendByteOrder
}

// byteOrders are the orders by the architecture of a definition.
var byteOrders = [...]byteOrder{binary.LittleEndian, binary.BigEndian}

// placed is a field and where it lies in a data message.
type placed struct {
	num, size, base byte
	at              int32
}

// maxDefinition is the length of the longest definition message.
const maxDefinition = 6 + 3*255 + 1 + 3*255

// maxFields bounds the fields that a definition found by searching may have.
const maxFields = 64

// parseDefinition reads a definition message that begins b with its header. It
// returns its length, 0 where b cannot be one or ends inside it.
func parseDefinition(b []byte, d *definition) int {
	if len(b) < 6 || b[2] > 1 {
		return 0
	}
	d.arch, d.order = b[2], byteOrders[b[2]]
	d.global = d.order.Uint16(b[3:])
	n := int(b[5])
	end := 6 + 3*n
	if d.global == 0xFFFF || len(b) < end {
		return 0
	}
	d.size, d.time, d.fields = 0, -1, d.fields[:0]
	for i := 6; i < end; i += 3 {
		f := placed{num: b[i], size: b[i+1], base: b[i+2], at: int32(d.size)}
		if baseSize[f.base] == 0 {
			return 0
		}
		if f.num == fieldTime && f.base == typeUint32 && f.size == 4 {
			d.time = d.size
		}
		d.fields = append(d.fields, f)
		d.size += int(f.size)
	}
	if b[0]&headerDeveloper != 0 {
		if len(b) < end+1 {
			return 0
		}
		dev := int(b[end])
		begin := end + 1
		if end = begin + 3*dev; len(b) < end {
			return 0
		}
		for i := begin; i < end; i += 3 {
			d.size += int(b[i+1])
		}
	}
	return end
}

// choose finds the wanted fields. One that is not of the profile's size or type
// is left out, as is a second of the same number.
func (d *definition) choose(want *wanted) {
	if d.want = want; want == nil {
		return
	}
	d.where = new([256]placed)
	for _, f := range d.fields {
		w := want.find(f.num)
		if w == nil || f.size == 0 || d.where[f.num].size > 0 {
			continue
		}
		if size := baseSize[w.base]; f.base != w.base || f.size%size != 0 || f.size > size && !w.array {
			d.odd = append(d.odd, w.name)
			continue
		}
		d.where[f.num] = f
		d.parts = append(d.parts, f)
	}
}

const (
	invalidStamp = 0xFFFFFFFF
	// systemTime bounds the time stamps that count from power-on.
	systemTime = 0x10000000 // s
)

// stamp returns the time stamp of a data message, invalidStamp where it has none.
func (d *definition) stamp(payload []byte) uint32 {
	if d.time < 0 {
		return invalidStamp
	}
	return d.order.Uint32(payload[d.time:])
}
