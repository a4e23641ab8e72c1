package sheet

import "time"

// launchWithin is how far the launch that a sheet notes may be from that of the run
// it means: methods that time a launch differ by less, launches of one log by more.
const launchWithin = 5 * time.Second // ns; between a noted launch and its run's. Origin: assumed.
