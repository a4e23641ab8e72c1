package main

import (
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"
	"runtime"
	"runtime/debug"
	"sync"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/archive"
	"fromrest/pkg/session"
)

// openMemory lets the analysis use and keep what finished logs gave, unless
// --no-memory was given. Without a folder for it everything is worked out anew.
// The function returned ends it.
func openMemory(c *cli.Context, o *session.Options) func() {
	none := func() {}
	if c.Bool("no-memory") {
		return none
	}
	if o.Build = buildIdentity(); o.Build == "" {
		return none
	}
	dir, err := archive.FinishedPath()
	if err != nil {
		return none
	}
	f, err := archive.OpenFinished(dir)
	if err != nil {
		return none
	}
	o.Memory = f
	return func() { _ = f.Close() } // what could not be tidied is tidied the next time
}

// buildIdentity tells this build from every other, so that no build believes what
// another remembered: from a clean checkout the revision with everything it was
// built with, else the hash of the program itself. "" where neither is known.
var buildIdentity = sync.OnceValue(func() string {
	if bi, ok := debug.ReadBuildInfo(); ok {
		set := map[string]string{}
		for _, s := range bi.Settings {
			set[s.Key] = s.Value
		}
		if set["vcs.revision"] != "" && set["vcs.modified"] == "false" {
			sum := sha256.Sum256([]byte(bi.String()))
			return hex.EncodeToString(sum[:])
		}
	}
	path, err := os.Executable()
	if err != nil {
		return ""
	}
	if runtime.GOOS == "linux" {
		path = "/proc/self/exe" // the program that runs, even where its file was replaced
	}
	f, err := os.Open(path)
	if err != nil {
		return ""
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return ""
	}
	return hex.EncodeToString(h.Sum(nil))
})
