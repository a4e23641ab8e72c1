package document_test

import (
	"fmt"
	"os"

	"fromrest/pkg/document"
)

func Example() {
	t := document.TableOf(document.Numbers, "Two runs", "", "calm", "full")
	t.Rows = []document.Row{
		{Section: "run", Name: "heading", Cells: []document.Cell{document.Words("064°"), document.Words("244°")}},
		{Section: "from rest", Name: "0-60 mph", Unit: "s", Cells: []document.Cell{document.Number(8.9408, 0.0951), document.Number(6.7056, 0.12)}},
		{Section: "from rest", Name: "60 ft", Unit: "s", Cells: []document.Cell{document.Number(3.4917, 0.0312), document.None()}},
	}
	t.Rows[1].Cells[1].Notes = []int{t.Footnote("no tractive force for 1.3 s")}
	heading := document.Heading{Text: t.Title}
	if err := document.Text(os.Stdout, heading, t); err != nil {
		fmt.Println(err)
	}
	if err := document.Markdown(os.Stdout, heading, t); err != nil {
		fmt.Println(err)
	}
	// Output:
	// Two runs
	//             calm          full
	// heading     064°          244°
	//
	// from rest, s
	//   0–60 mph  8.941 ±0.095  6.71 ±0.12[a]
	//   60 ft     3.492 ±0.031
	// [a] no tractive force for 1.3 s
	// **Two runs**
	//
	// |                  |         calm |          full |
	// |:-----------------|-------------:|--------------:|
	// | heading          |         064° |          244° |
	// | **from rest, s** |              |               |
	// | 0–60 mph         | 8.941 ±0.095 | 6.71 ±0.12[a] |
	// | 60 ft            | 3.492 ±0.031 |               |
	//
	// [a] no tractive force for 1.3 s
}
