package nmea

import (
	"bytes"
	"io"
)

// Sniff says how surely a log that begins with head (up to 64 KiB) is NMEA
// 0183, from 0, not at all, to 100. It looks at content: sentences with a right
// checksum count most, wrong or missing ones little.
func Sniff(head []byte) int {
	if len(head) >= 4 {
		if big, mark, wide := utf16Order(head[:4]); wide {
			head, _ = io.ReadAll(&narrow{r: bytes.NewReader(head[mark:]), big: big})
		}
	}
	var p parser
	p.lines(head)
	right, other := 0, 0
	for i := range p.out {
		s := &p.out[i]
		switch {
		case s.kind == kindIssue:
		case s.sum == sumRight:
			right++
		case s.kind != kindOther && s.kind != kindText && s.flags&flagUnusable == 0:
			other++
		}
	}
	switch {
	case right >= 3:
		return 100
	case right > 0:
		return 60 + 10*right
	case other > 0:
		return min(80, 50+5*other)
	}
	return 0
}
