package web

import (
	"context"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
)

// An edit is taken out of a later text where nothing that came after hangs on it.
func TestWithout(t *testing.T) {
	const sheet = "title = \"t\"\n\n[[run]]\nid = \"a#1\"\nmode = \"calm\"\n"
	entry := sheet + "\n[[run]]\nid = \"a#2\"\nexclude = \"spin\"\n"
	for name, c := range map[string]struct{ before, after, now, want string }{
		"elsewhere":       {sheet, entry, strings.Replace(entry, `"t"`, `"u"`, 1), strings.Replace(sheet, `"t"`, `"u"`, 1)},
		"put behind":      {sheet, "place = \"p\"\n" + sheet, "place = \"p\"\n" + entry, entry},
		"changed again":   {sheet, strings.Replace(sheet, "calm", "full", 1), strings.Replace(sheet, "calm", "eco", 1), ""},
		"hangs on it":     {sheet, entry, entry + "remark = \"wet\"\n", ""},
		"within":          {sheet, entry, strings.Replace(entry, "exclude", "fuel_l = 3\nexclude", 1), ""},
		"taken off again": {sheet, entry, sheet, sheet},
	} {
		got, ok := without(c.after, c.before, c.now)
		if ok != (c.want != "") || ok && got != c.want {
			t.Errorf("%s: %v\n%s", name, ok, got)
		}
	}
}

// Whose an edit was, and which are taken back, is known after a restart.
func TestAuthorsOutliveTheServer(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.db")
	sv := serveTest(t, path, Options{})
	id := begin(t, sv.url)
	putLog(t, sv, id, demoFiles(t, dir, 1)[0], "calm")
	waitRead(t, sv, id, 1)
	by := func(who, op, body string) sessionView {
		t.Helper()
		var v sessionView
		if res := text(t, ask(t, map[bool]string{true: "GET", false: "POST"}[op == ""], sv.url+"/api/sessions/"+id+op, body, "X-Fromrest: "+who, "Content-Type: application/json")); json.Unmarshal([]byte(res), &v) != nil || v.ID == "" {
			t.Fatalf("%s %s %s: %s", who, op, body, res)
		}
		return v
	}
	by("anna", "/edit", `{"op":"head","key":"vehicle","value":"a van"}`)
	by("bert", "/edit", `{"op":"head","key":"wind","value":"3"}`)
	by("bert", "/edit", `{"op":"head","key":"place","value":"south"}`)
	by("anna", "/edit", `{"op":"head","key":"notes","value":"dry"}`)
	by("bert", "/undo", "{}") // the place, beneath the remarks
	sv.stop()
	sv = serveTest(t, path, Options{})
	waitRead(t, sv, id, 1)
	if v := by("bert", "", ""); v.Undo != "wind: 3" {
		t.Errorf("bert would undo %q", v.Undo)
	}
	if v := by("anna", "", ""); v.Undo != "remarks: dry" {
		t.Errorf("anna would undo %q", v.Undo)
	}
	if v := by("cleo", "", ""); v.Undo != "" {
		t.Errorf("cleo would undo %q, which is another's", v.Undo)
	}
	by("bert", "/undo", "{}")
	sv.stop()
	sh, err := openArchive(t, path).Sheet(context.Background(), id)
	if err != nil || strings.Contains(sh.Body, "\nwind_mps") || strings.Contains(sh.Body, "south") || !strings.Contains(sh.Body, `"a van"`) || !strings.Contains(sh.Body, `"dry"`) {
		t.Errorf("%v:\n%s", err, sh.Body)
	}
}
