package web

import "time"

// What one client may take of the server, and how long either waits for the other.
// All are assumed, generous for one tester on a slow network; none is reached in use.
const (
	mostConnections = 256            // open at a time, so that idle ones cannot use up the process's files
	mostUploads     = 6              // at a time; the page sends three
	mostOpen        = 4              // sessions that nobody looks at and that stay in memory
	mostEvents      = 256            // waiting for a page that is slow to take them
	maxHeader       = 16 << 10       // bytes of a request's head
	maxRequest      = 1 << 20        // bytes of the body of every request but the upload of a log
	defaultMaxLog   = int64(2) << 30 // bytes of a log
	archiveHead     = 64 << 10       // bytes by which an archive is told from a log
	uploadBlock     = 64 << 10       // bytes of an upload that must arrive within Options.Stall

	defaultStall = 30 * time.Second // for a block of an upload
	headerWait   = 5 * time.Second  // for a request's head
	answerWait   = 2 * time.Minute  // for a client to take its answer
	refusalWait  = 10 * time.Second // for a client to take it that its upload failed
	eventWait    = 20 * time.Second // for a page to take an event
	idleWait     = 2 * time.Minute  // for the next request on a connection
	grace        = 5 * time.Second  // for requests under way when the server is asked to stop
)

// How often things are looked at, told or kept; assumed, by what a person sees.
const (
	beat       = 15 * time.Second       // between signs of life on a quiet connection
	tellEvery  = 150 * time.Millisecond // between two words on the progress of a log
	storeAfter = 2 * time.Second        // without a change before a result is stored
	watchEvery = time.Second            // between two looks at a watched folder
	quietLooks = 2                      // in a row at which a file must be unchanged to be whole
)

// Characters kept of what comes from outside; assumed, beyond what is ever typed.
const (
	mostName   = 300 // of a log's file
	mostMode   = 60  // of a drive mode, or of the page's key of an upload
	mostTitle  = 200 // of a session's title or the reason of an exclusion
	mostRemark = 1000
	mostID     = 80 // of a run, in a message
	mostWheel  = 20 // of a wheel, in a message
)

// What is shown at a time; assumed, by what still can be read.
const (
	maxTraces    = 40   // in one request for traces
	mostAligned  = 1000 // speed that runs are aligned at, in any unit
	maxModes     = 12   // compared, every pair of them being shown
	maxReport    = 200  // runs of a report, each of which has figures of its own
	rowsShown    = 6    // of a table whose columns are asked for
	tableColumns = 40   // runs in the table on the page; exports have all
	sparkPoints  = 48   // of a small trace
)
