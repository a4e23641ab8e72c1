package session

import (
	"errors"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
)

// SheetTargets returns the targets that a sheet adds to the usual ones. The error
// names the line of those that are none; the others are returned beside it.
func SheetTargets(sh *sheet.Sheet) ([]timing.Target, error) {
	var out []timing.Target
	var errs []error
	for _, text := range sh.Targets {
		t, err := timing.ParseTarget(text)
		if err != nil {
			errs = append(errs, sh.Errorf("targets", "%v", err))
			continue
		}
		out = append(out, t)
	}
	return out, errors.Join(errs...)
}
