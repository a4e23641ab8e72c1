package web

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"sync"
	"time"
)

// event is what a page is told while it is open.
type event struct {
	Kind string `json:"kind"` // "upload", "log", "changed", "resync", "note"
	// Key is the upload as the page numbered it, or the hash of the log.
	Key   string `json:"key,omitempty"`
	State string `json:"state,omitempty"`
	Done  int64  `json:"done,omitempty"`  // bytes
	Total int64  `json:"total,omitempty"` // bytes
	Runs  int    `json:"runs,omitempty"`
	Text  string `json:"text,omitempty"`
}

// hub hands events to the pages that look at a session.
type hub struct {
	mu     sync.Mutex
	subs   map[string]map[chan event]bool
	closed chan struct{}
	once   sync.Once
}

func newHub() *hub { return &hub{subs: map[string]map[chan event]bool{}, closed: make(chan struct{})} }

func (h *hub) close() { h.once.Do(func() { close(h.closed) }) }

func (h *hub) subscribe(session string) (chan event, func()) {
	ch := make(chan event, mostEvents)
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.subs[session] == nil {
		h.subs[session] = map[chan event]bool{}
	}
	h.subs[session][ch] = true
	return ch, func() {
		h.mu.Lock()
		defer h.mu.Unlock()
		delete(h.subs[session], ch)
		if len(h.subs[session]) == 0 {
			delete(h.subs, session)
		}
	}
}

// publish never waits: a page too slow to follow loses progress, and asks for
// the whole state again when it next hears of a change.
func (h *hub) publish(session string, e event) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for ch := range h.subs[session] {
		select {
		case ch <- e:
		default:
			if e.Kind == "changed" {
				select { // make room: the newest state matters, old progress does not
				case <-ch:
				default:
				}
				select {
				case ch <- e:
				default:
				}
			}
		}
	}
}

func (h *hub) watched(session string) bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	return len(h.subs[session]) > 0
}

// events streams a session's events until the page or the server goes.
func (s *Server) events(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	if _, err := s.arch.Session(r.Context(), id); err != nil {
		return err
	}
	ch, done := s.hub.subscribe(id)
	defer done()
	rc := http.NewResponseController(w)
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no")
	send := func(text string) bool {
		err := rc.SetWriteDeadline(time.Now().Add(eventWait))
		if err == nil {
			_, err = io.WriteString(w, text)
		}
		return cmp.Or(err, rc.Flush()) == nil
	}
	tick := time.NewTicker(beat)
	defer tick.Stop()
	for open := send("retry: 1000\n: open\n\n"); open; {
		select {
		case <-r.Context().Done():
			return nil
		case <-s.hub.closed:
			return nil
		case <-tick.C:
			open = send(": beat\n\n")
		case e := <-ch:
			b, err := json.Marshal(e)
			open = err == nil && send(fmt.Sprintf("data: %s\n\n", b))
		}
	}
	return nil // the page has gone
}
