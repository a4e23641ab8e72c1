package main

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/figure"
)

// forms are the formats that a command writes its answer in, the usual one first.
type forms[T any] []form[T]

type form[T any] struct {
	name  string
	write func(io.Writer, T) error // nil for one that the command writes by itself
}

// flag is --format; usage says what it is the format of.
func (fs forms[T]) flag(usage string) cli.Flag {
	return &cli.StringFlag{Name: "format", Value: fs[0].name, Usage: usage + ": " + anyOf(fs.names())}
}

// chosen is the form that --format names.
func (fs forms[T]) chosen(c *cli.Context) (form[T], error) {
	name, err := oneOf(c, "format", fs.names()...)
	if err != nil {
		return form[T]{}, err
	}
	return fs[slices.Index(fs.names(), name)], nil
}

func (fs forms[T]) names() []string {
	var names []string
	for _, f := range fs {
		names = append(names, f.name)
	}
	return names
}

// anyOf lists words to choose from.
func anyOf(words []string) string {
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " or " + words[last]
}

// oneOf checks a flag that chooses among words.
func oneOf(c *cli.Context, flag string, words ...string) (string, error) {
	v := c.String(flag)
	if !slices.Contains(words, v) {
		return "", usagef("--%s %q: want %s", flag, v, anyOf(words))
	}
	return v, nil
}

// complain prints an error in one line without ending the command.
func complain(c *cli.Context, err error) {
	text := strings.Join(strings.Fields(err.Error()), " ")
	fmt.Fprintln(c.App.ErrWriter, "fromrest: "+text)
}

// outputFlag is -o.
func outputFlag(usage string) cli.Flag {
	return &cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: usage}
}

// emit writes an answer into the file that -o names, or to the terminal. Nothing is
// written of one that could not be made whole.
func emit(c *cli.Context, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	if out := c.String("output"); out != "" {
		return writeFile(c, out, b.Bytes())
	}
	_, err := c.App.Writer.Write(b.Bytes())
	return err
}

// pictureFlags are those of a command that draws into a file.
func pictureFlags() []cli.Flag {
	return []cli.Flag{
		&cli.BoolFlag{Name: "dark", Usage: "draw a png light on dark"},
		&cli.IntFlag{Name: "scale", Value: 2, Usage: "draw a png with `N` times 96 dots an inch"},
	}
}

// figureName checks that a file's ending names a format figures are written in.
func figureName(path string) error {
	switch strings.ToLower(filepath.Ext(path)) {
	case ".svg", ".png", ".pdf":
		return nil
	}
	if path == "" {
		return usagef("no file to draw into: give -o FILE, ending in .svg, .png or .pdf")
	}
	return usagef("-o %q: want a name ending in .svg, .png or .pdf", path)
}

// writeFigure writes a figure in the format of the file's ending.
func writeFigure(c *cli.Context, f *figure.Figure, path string) (err error) {
	var data []byte
	switch strings.ToLower(filepath.Ext(path)) {
	case ".svg":
		data = f.SVG()
	case ".png":
		t := figure.Light()
		if c.Bool("dark") {
			t = figure.Dark()
		}
		data, err = f.PNG(t, float64(c.Int("scale")))
	case ".pdf":
		data, err = f.PDF()
	}
	if err != nil {
		return err
	}
	return writeFile(c, path, data)
}

// writeFile writes a result and says on standard error that it did.
func writeFile(c *cli.Context, path string, data []byte) error {
	if err := os.WriteFile(path, data, 0o644); err != nil {
		return err
	}
	fmt.Fprintln(c.App.ErrWriter, "wrote "+path)
	return nil
}
