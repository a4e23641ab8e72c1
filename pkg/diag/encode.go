package diag

import (
	"bytes"
	"encoding/gob"
)

// MarshalBinary implements encoding.BinaryMarshaler. Texts keep their bytes
// whatever they are.
func (l *List) MarshalBinary() ([]byte, error) {
	var b bytes.Buffer
	err := gob.NewEncoder(&b).Encode(l.groups)
	return b.Bytes(), err
}

// UnmarshalBinary implements encoding.BinaryUnmarshaler. Bytes that MarshalBinary
// did not write are an error and leave the list as it was.
func (l *List) UnmarshalBinary(data []byte) error {
	var groups []*Group
	if err := gob.NewDecoder(bytes.NewReader(data)).Decode(&groups); err != nil {
		return err
	}
	l.groups = groups
	return nil
}
