package nmea

import (
	"fmt"
	"strings"

	gonmea "github.com/adrianmo/go-nmea"
)

// library reads with go-nmea the sentences whose fields are free in number or
// form: TXT and XDR.
type library struct {
	p    *gonmea.SentenceParser
	told []string // what TXT sentences say, the first few
}

const mostTold = 8

// read reads the sentence in f, of which s has the kind and the checksum's state.
func (l *library) read(f *fields, s *sentence) bool {
	if l.p == nil {
		l.p = &gonmea.SentenceParser{
			// The checksum was looked at before, and rules on it are the log's.
			CheckCRC: func(gonmea.BaseSentence, string) error { return nil },
			// XDR's own parser refuses g and m/s2; its fields are read here.
			CustomParsers: map[string]gonmea.ParserFunc{
				gonmea.TypeXDR: func(b gonmea.BaseSentence) (gonmea.Sentence, error) { return b, nil },
			},
		}
	}
	parsed, err := l.parse(string(f.b))
	if err != nil {
		return false
	}
	switch m := parsed.(type) {
	case gonmea.BaseSentence:
		readXDR(m.Fields, s)
	case gonmea.TXT:
		if s.sum == sumRight && len(l.told) < mostTold {
			l.told = append(l.told, strings.TrimSpace(m.Message))
		}
	}
	return true
}

// parse calls the library, which panics on some hostile sentences.
func (l *library) parse(raw string) (m gonmea.Sentence, err error) {
	defer func() {
		if r := recover(); r != nil {
			m, err = nil, fmt.Errorf("sentence parser: %v", r)
		}
	}()
	return l.p.Parse(raw)
}
