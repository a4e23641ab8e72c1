package fit

const (
	chainWindow = 8 << 10 // bytes looked at
	chainLength = 12      // messages that must fit together
	maxTick     = 16      // s between compressed time stamps
)

// chain reports whether messages that fit together begin b: known layouts,
// valid definitions, time stamps near one another, or near the last where
// anchored is set.
func (w *walker) chain(b []byte, anchored bool) bool {
	c := links{local: &w.local}
	if anchored {
		c.stamps = w.stamps
	}
	all := len(b)
	for n := range chainLength {
		if len(b) == 0 {
			return n > 1 && c.agree > 0
		}
		size, fits := c.next(b)
		switch {
		case !fits:
			return false
		case size > len(b):
			// The window, or the file before its checksum, ends.
			return (all == chainWindow || len(b) <= 2) && c.agree > 1
		}
		b = b[size:]
	}
	return c.agree > 1
}

// links is what is known of the messages of a chain.
type links struct {
	local *[16]*definition // of the walker
	over  [16]definition   // defined in the chain
	now   [16]bool
	stamps
	tick  byte // header of the last compressed message
	ticks bool
	agree int // time stamps that fit
}

// next looks at the message that begins b and returns its length, which may be
// more than b has, and whether it fits those before it.
func (c *links) next(b []byte) (size int, fits bool) {
	head := b[0]
	if head&(headerCompressed|headerDefinition) == headerDefinition {
		d := &c.over[head&15]
		size := parseDefinition(b, d)
		c.now[head&15] = size > 0
		return size, size > 0 && len(d.fields) <= maxFields && head&headerReserved == 0 && b[1] == 0
	}
	if head&headerCompressed == 0 && head&(headerDeveloper|headerReserved) != 0 {
		return 0, false
	}
	k := localType(head)
	d := c.local[k]
	if c.now[k] {
		d = &c.over[k]
	}
	if d == nil || head&headerCompressed != 0 && d.time >= 0 {
		return 0, false
	}
	if size = 1 + d.size; size > len(b) {
		return size, true
	}
	switch {
	case head&headerCompressed != 0:
		// The time goes on by a few seconds from message to message.
		if step := (head - c.tick) & 31; c.ticks && (step == 0 || step > maxTick) {
			return 0, false
		} else if c.ticks {
			c.agree++
		}
		c.tick, c.ticks = head, true
	case d.global != mesgCorrelation:
		if t := d.stamp(b[1:size]); t != invalidStamp {
			if !c.near(t) {
				return 0, false
			}
			c.believe(t)
			c.agree++
		}
	}
	return size, true
}
