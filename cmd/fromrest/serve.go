package main

import (
	"cmp"
	"context"
	"fmt"
	"net"
	"os"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/archive"
	"fromrest/pkg/web"
	"fromrest/pkg/web/door"
)

// archiveFlag says where the archive lies.
func archiveFlag() cli.Flag {
	return &cli.StringFlag{Name: "archive", Usage: "keep sessions in the file `PATH` instead of the user's data folder"}
}

// archivePath is the file named by --archive, or the user's own.
func archivePath(c *cli.Context) (string, error) {
	if p := c.String("archive"); p != "" {
		return p, nil
	}
	return archive.DefaultPath()
}

func serveCommand() *cli.Command {
	return &cli.Command{
		Name:  "serve",
		Usage: "open the page to drop logs on, in a browser on this machine",
		UsageText: `fromrest serve [options]

Example: the page on this machine, and nowhere else
   fromrest serve

Example: for a phone on the same network; a token is shown at the start
   fromrest serve --listen :8080

Example: take logs as the logger's folder fills
   fromrest serve --watch /media/logger`,
		Flags: []cli.Flag{
			&cli.IntFlag{Name: "port", Value: 8765, Usage: "`PORT` on the loopback address; 0 for any free one"},
			&cli.StringFlag{Name: "listen", Usage: "listen on `ADDRESS` such as \":8080\" instead; asks for a token. There is no encryption: only on a network you trust"},
			&cli.StringSliceFlag{Name: "host", Usage: "answer to the host name `NAME` too; may be repeated"},
			&cli.StringSliceFlag{Name: "watch", Usage: "take the logs that appear in `DIR`; may be repeated"},
			choice("units", "mph", "speed axis and pulls in `UNIT`, mph or kmh, where a session's sheet names none", "mph", "kmh"),
			&cli.StringFlag{Name: "columns", Usage: "what the columns of CSV logs are"},
			&cli.Int64Flag{Name: "max-size", Value: 2048, Usage: "refuse logs of more than `MIB` mebibytes"},
			archiveFlag(),
		},
		Action: runServe,
	}
}

func runServe(c *cli.Context) error {
	units, err := chosen(c, "units")
	if err != nil {
		return err
	}
	if c.Args().Present() {
		return usagef("serve takes no logs; drop them on the page, or give --watch DIR")
	}
	if c.Int64("max-size") < 1 {
		return usagef("--max-size %d: want at least 1", c.Int64("max-size"))
	}
	for _, dir := range c.StringSlice("watch") {
		if st, err := os.Stat(dir); err != nil || !st.IsDir() {
			return fmt.Errorf("--watch %s: not a folder", dir)
		}
	}
	path, err := archivePath(c)
	if err != nil {
		return err
	}
	opts := web.Options{Version: buildVersion(), Units: units, Columns: c.String("columns"),
		Hosts: c.StringSlice("host"), MaxLog: c.Int64("max-size") << 20, Log: c.App.ErrWriter}
	ln, err := listen(c, &opts)
	if err != nil {
		return err
	}
	defer func() { _ = ln.Close() }() // closed already where it has served
	if opts.Archive, err = archive.Open(c.Context, path); err != nil {
		return err
	}
	err = serve(c, ln, opts)
	return cmp.Or(err, opts.Archive.Close())
}

// listen opens the address and, on another than loopback, makes the token.
func listen(c *cli.Context, opts *web.Options) (net.Listener, error) {
	addr := c.String("listen")
	if addr == "" {
		return net.Listen("tcp", fmt.Sprintf("127.0.0.1:%d", c.Int("port")))
	}
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, usagef("--listen %q: want an address such as \":8080\" or \"192.168.1.5:8080\"", addr)
	}
	opts.Token = door.NewToken()
	ln, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, err
	}
	opts.Hosts = append(opts.Hosts, ownNames(host)...)
	return ln, nil
}

// ownNames are the names by which others reach a listener on host: its own, or
// for every address those of all interfaces and of the machine.
func ownNames(host string) []string {
	if ip := net.ParseIP(host); host != "" && (ip == nil || !ip.IsUnspecified()) {
		return []string{host}
	}
	var names []string
	addrs, err := net.InterfaceAddrs()
	if err == nil {
		for _, a := range addrs {
			if n, ok := a.(*net.IPNet); ok {
				names = append(names, n.IP.String())
			}
		}
	}
	if name, err := os.Hostname(); err == nil {
		names = append(names, name, name+".local")
	}
	return names
}

// serve runs the page until the process is interrupted.
func serve(c *cli.Context, ln net.Listener, opts web.Options) error {
	s, err := web.New(opts)
	if err != nil {
		return err
	}
	defer s.Close()
	for _, u := range addresses(ln, opts) {
		fmt.Fprintln(c.App.Writer, u)
	}
	fmt.Fprintf(c.App.ErrWriter, "sessions are kept in %s; Ctrl-C stops\n", opts.Archive.Path())
	ctx, cancel := context.WithCancel(c.Context)
	defer cancel()
	for _, dir := range c.StringSlice("watch") {
		go func() {
			if err := s.Watch(ctx, dir); err != nil {
				fmt.Fprintf(c.App.ErrWriter, "fromrest: --watch %s: %v\n", dir, err)
			}
		}()
	}
	return s.Serve(ctx, ln)
}

// addresses are what to open: one on loopback, else one for each own address
// with the token, which is shown here and nowhere else.
func addresses(ln net.Listener, opts web.Options) []string {
	_, port, _ := net.SplitHostPort(ln.Addr().String())
	if opts.Token == "" {
		return []string{"open http://localhost:" + port + "/"}
	}
	out := []string{"token " + opts.Token}
	for _, h := range opts.Hosts {
		if ip := net.ParseIP(h); ip != nil && (ip.IsLinkLocalUnicast() || ip.IsLoopback()) {
			continue
		}
		if strings.HasSuffix(h, ".local") {
			continue
		}
		out = append(out, "open http://"+net.JoinHostPort(h, port)+"/enter?token="+opts.Token)
	}
	return out
}
