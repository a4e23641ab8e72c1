package fit

import "encoding/binary"

// definition is a definition message: how the data messages of one local type
// are laid out.
type definition struct {
	global uint16
	big    bool // big endian
	size   int  // of a data message, without its header byte
	time   int  // where the time stamp lies in it, -1 for nowhere
	fields []placed
	want   *message
	plans  map[choice]*plan
	last   *plan // the plan used last, for lastOf
	lastOf choice
}

// placed is a field and where it lies in a data message.
type placed struct {
	num, size, base byte
	at              int
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
	d.big = b[2] == 1
	d.global = d.order().Uint16(b[3:])
	n := int(b[5])
	end := 6 + 3*n
	if d.global == 0xFFFF || len(b) < end {
		return 0
	}
	d.size, d.time, d.fields = 0, -1, d.fields[:0]
	for i := 6; i < end; i += 3 {
		f := placed{num: b[i], size: b[i+1], base: b[i+2], at: d.size}
		if baseSize[f.base] == 0 {
			return 0
		}
		if f.num == fieldTime && f.base == typeUint32 && f.size == 4 {
			d.time = f.at
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

func (d *definition) order() binary.ByteOrder {
	if d.big {
		return binary.BigEndian
	}
	return binary.LittleEndian
}

// stamp returns the time stamp of a data message, invalidStamp where it has none.
func (d *definition) stamp(payload []byte) uint32 {
	if d.time < 0 {
		return invalidStamp
	}
	return d.order().Uint32(payload[d.time:])
}

const (
	invalidStamp = 0xFFFFFFFF
	// systemTime bounds the time stamps that count from power-on.
	systemTime = 0x10000000 // s
)

// Header bits of a message.
const (
	headerCompressed = 0x80
	headerDefinition = 0x40
	headerDeveloper  = 0x20
	headerReserved   = 0x10
)

// choice says which of several fields of the same meaning a message is read
// from: the libraries let the poorer one win.
type choice struct{ speed, altitude byte }

var (
	speedFields    = [...]byte{73, 6, 8, 17}
	altitudeFields = [...]byte{78, 2}
)

// choose returns the best valid speed and altitude field of a record.
func (d *definition) choose(payload []byte) choice {
	if d.global != mesgRecord {
		return choice{}
	}
	pick := func(nums []byte) byte {
		for _, num := range nums {
			for _, f := range d.fields {
				if f.num == num && !allFF(payload[f.at:f.at+int(f.size)]) {
					return num
				}
			}
		}
		return nums[0]
	}
	return choice{pick(speedFields[:]), pick(altitudeFields[:])}
}

func allFF(b []byte) bool {
	for _, c := range b {
		if c != 0xFF {
			return false
		}
	}
	return true
}

// plan is how a data message is handed to a library: a definition with only the
// fields that are wanted, in the sizes the profile gives them, and a time stamp
// of its own, so that no message depends on one that was left out.
type plan struct {
	def   []byte // definition message, its header to be set
	parts []placed
	size  int
	order binary.ByteOrder
	stamp bool

	trust  trust // of reading its records here
	agreed int   // records that the library read alike
}

// plan returns the plan for a message, and the fields it leaves out because
// they are not as the profile has them, the first time.
func (d *definition) plan(payload []byte) (p *plan, odd []string) {
	c := d.choose(payload)
	if d.last != nil && d.lastOf == c {
		return d.last, nil
	}
	if p = d.plans[c]; p != nil {
		d.last, d.lastOf = p, c
		return p, nil
	}
	p = &plan{order: d.order(), stamp: d.want.stamp || d.time >= 0}
	arch := byte(0)
	if d.big {
		arch = 1
	}
	p.def = append(p.def, headerDefinition, 0, arch, 0, 0, 0)
	p.order.PutUint16(p.def[3:], d.global)
	if p.stamp {
		p.def = append(p.def, fieldTime, 4, typeUint32)
		p.size = 4
	}
	var seen [256]bool
	for _, f := range d.fields {
		w := d.want.find(f.num)
		if w == nil || f.size == 0 || seen[f.num] || c.excludes(f.num) {
			continue
		}
		size := baseSize[w.base]
		if f.base != w.base || f.size%size != 0 || f.size > size && !w.array {
			odd = append(odd, w.name)
			continue
		}
		seen[f.num] = true
		p.def = append(p.def, f.num, f.size, f.base)
		p.parts = append(p.parts, f)
		p.size += int(f.size)
	}
	p.def[5] = byte((len(p.def) - 6) / 3)
	p.trust = p.directly(d.global)
	if d.plans == nil {
		d.plans = make(map[choice]*plan)
	}
	d.plans[c] = p
	return p, odd
}

// excludes reports whether another field is read instead of num.
func (c choice) excludes(num byte) bool {
	if c == (choice{}) {
		return false
	}
	for _, n := range speedFields {
		if n == num && c.speed != num {
			return true
		}
	}
	for _, n := range altitudeFields {
		if n == num && c.altitude != num {
			return true
		}
	}
	return false
}
