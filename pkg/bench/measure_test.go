package bench

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
	"time"
)

// cost is what reading a log takes.
type cost struct {
	report
	peak int64 // bytes resident at most, 0 unknown
}

// measure reads the log with a child process of this program on the given
// number of processors, as often as told, and returns the run of middle time.
func measure(task, path string, processors, times int) (cost, error) {
	return middle(times, func() (cost, error) {
		c := exec.Command(os.Args[0])
		c.Env = append(os.Environ(), taskVariable+"="+task, pathVariable+"="+path, fmt.Sprintf("GOMAXPROCS=%d", processors))
		out, got, err := run(c)
		if err != nil {
			return got, err
		}
		return got, json.Unmarshal(out, &got.report)
	})
}

func middle(times int, f func() (cost, error)) (cost, error) {
	var all []cost
	for range times {
		c, err := f()
		if err != nil {
			return c, err
		}
		all = append(all, c)
	}
	slices.SortFunc(all, func(a, b cost) int { return int((a.CPU - b.CPU) * 1e9) })
	return all[len(all)/2], nil
}

// run starts a command and returns what it prints and takes.
func run(c *exec.Cmd) ([]byte, cost, error) {
	var out, wrong bytes.Buffer
	if c.Stdout == nil {
		c.Stdout = &out
	}
	c.Stderr = &wrong
	begin := time.Now()
	err := c.Run()
	got := cost{peak: peak(c.ProcessState)}
	got.Wall = time.Since(begin).Seconds()
	got.CPU = (c.ProcessState.UserTime() + c.ProcessState.SystemTime()).Seconds()
	if err != nil {
		line, _, _ := strings.Cut(strings.TrimSpace(wrong.String()), "\n")
		err = fmt.Errorf("%w: %s", err, line)
	}
	return out.Bytes(), got, err
}

// program is a peer that is not linked in.
type program struct {
	name, does string
	formats    map[string][]string // arguments, with LOG for the path
	largest    int64               // bytes it is asked to read at most
	module     string              // of Node, "" for a program of its own
}

// command returns the command for a log, nil where the program is not
// installed, with a line that says so.
func (p *program) command(format, path string) (*exec.Cmd, string) {
	name, args := p.name, slices.Clone(p.formats[format])
	if p.module != "" {
		name = "node"
	}
	bin, err := exec.LookPath(name)
	if err != nil {
		return nil, p.name + " is not installed"
	}
	if p.module != "" {
		if err := exec.Command(bin, "-e", "require('"+p.module+"')").Run(); err != nil {
			return nil, "Node's " + p.module + " is not installed"
		}
		args = append([]string{"-e"}, args...)
	}
	var stdin *os.File
	for i, a := range args {
		if a == "<LOG" {
			if stdin, err = os.Open(path); err != nil {
				return nil, err.Error()
			}
			args = slices.Delete(args, i, i+1)
			break
		}
		args[i] = strings.ReplaceAll(a, "LOG", path)
	}
	c := exec.Command(bin, args...)
	if stdin != nil {
		c.Stdin = stdin
	}
	if null, err := os.OpenFile(os.DevNull, os.O_WRONLY, 0); err == nil {
		c.Stdout = null
	}
	return c, ""
}

// lines calls a parser for each line of the log.
func lines(module, parse string) string {
	return `const m=require('` + module + `');` + parse + `
require('readline').createInterface({input:require('fs').createReadStream('LOG')}).on('line',l=>{try{f(l)}catch(e){}})`
}

// programs are general converters and parsers that may be installed.
var programs = []program{
	{name: "gpsdecode", does: "sentences to JSON", formats: map[string][]string{"nmea": {"<LOG"}}, largest: 110e6},
	{name: "gpsbabel", does: "reads into its own points", formats: map[string][]string{"nmea": {"-i", "nmea", "-f", "LOG"},
		"fit": {"-i", "garmin_fit", "-f", "LOG"}, "csv": {"-i", "unicsv", "-f", "LOG"}, "gpx": {"-i", "gpx", "-f", "LOG"}}, largest: 110e6},
	{name: "nmea-simple", module: "nmea-simple", does: "parses, keeps nothing", largest: 110e6,
		formats: map[string][]string{"nmea": {lines("nmea-simple", "const f=l=>m.parseNmeaSentence(l)")}}},
	{name: "gps", module: "gps", does: "parses, keeps nothing", largest: 110e6,
		formats: map[string][]string{"nmea": {lines("gps", "const g=new m();const f=l=>g.update(l)")}}},
	{name: "fit-file-parser", module: "fit-file-parser", does: "keeps objects", largest: 110e6,
		formats: map[string][]string{"fit": {`const m=require('fit-file-parser');const P=m.default||m;
new P({force:true,mode:'list'}).parse(require('fs').readFileSync('LOG'),(e,d)=>{if(e||!d.records.length)throw e||new Error('no records')})`}}},
}

// load is how many programs wait for a processor or have one, over the last
// minute, 0 where that is not known.
func load() (v float64) {
	if b, err := os.ReadFile("/proc/loadavg"); err == nil {
		if _, err := fmt.Sscan(string(b), &v); err != nil {
			return 0
		}
	}
	return v
}

// machine describes what it ran on.
func machine() string {
	cpu := "unknown processor"
	if b, err := os.ReadFile("/proc/cpuinfo"); err == nil {
		for line := range strings.Lines(string(b)) {
			if k, v, ok := strings.Cut(line, ":"); ok && strings.TrimSpace(k) == "model name" {
				cpu = strings.TrimSpace(v)
				break
			}
		}
	}
	return fmt.Sprintf("%s/%s, %s, %d processors, %s", runtime.GOOS, runtime.GOARCH, cpu, runtime.NumCPU(), runtime.Version())
}
