package session

import "fmt"

// ModelRevision numbers the model that times are worked out by. It goes up whenever
// a change moves a printed time, half-width, difference or verdict of unchanged
// logs; docs/changes.md says what moved. 1 was the first edition.
const ModelRevision = 8

// MadeBy names what made a number, as every output does: the version of the
// program, which may be "", and the revision of the model.
func MadeBy(version string, model int) string {
	if version != "" {
		version = " " + version
	}
	return fmt.Sprintf("fromrest%s, model %d", version, model)
}

// MadeBy names what made a result.
func (s *Settings) MadeBy() string { return MadeBy(s.Version, s.Model) }
