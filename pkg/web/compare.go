package web

import "net/http"

func (s *Server) compare(w http.ResponseWriter, r *http.Request) {
	http.NotFound(w, r)
}
