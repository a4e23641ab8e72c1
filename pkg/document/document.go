// Package document holds what a document is made of as data, and writes it as
// text for a terminal, as Markdown and as HTML. A table alone is written as CSV,
// JSON, LaTeX and as a workbook too.
//
// A document is a row of blocks: headings, paragraphs, lists, terms, lines and
// tables. There is one model of a table; where tables differ in style, a Look of
// the table says so. The package knows nothing of what it sets: whoever builds a
// document says what stands in it, once, for all forms.
//
// In a document that is to be set in every form, words are escaped by the form
// that needs it. Three things are taken as they are and are the builder's to keep
// harmless: Lines in Markdown, Markup in HTML, and in Markdown the text of
// headings and the titles and notes beneath tables.
//
// Limits: one level of lists, no emphasis inside a text, no links. Text is set in
// runes, so that letters of double width break an alignment in some terminals.
package document

import "strings"

// Block is a part of a document: a Heading, Paragraph, List, Terms, Lines, Markup
// or a *Table.
type Block interface {
	text(w *textWriter)
	markdown(w *markdownWriter)
	html(b *strings.Builder)
}

// Layout says how a block is set as text, in columns of the terminal. The zero
// value stands at the edge, a blank line above it unless it follows a heading.
type Layout struct {
	Close  bool // no blank line above; in HTML a list on one line
	Indent int  // of all its lines
	Hang   int  // of the lines after a paragraph's first, beyond Indent
}

// Heading stands above what belongs to it.
type Heading struct {
	Text  string
	Note  string // said behind it in smaller type
	Level int    // in Markdown: 1 and 2, 0 for a line in bold
	Near  bool   // in Markdown a list stands right beneath
	Layout
}

// Paragraph is running text.
type Paragraph struct {
	Text string
	Kind Kind
	Layout
}

// Kind is what a paragraph is for.
type Kind int

// Kinds of paragraphs.
const (
	Plain   Kind = iota
	Remark       // in small type
	Warning      // to be seen
)

// List is a list of whole sentences or clauses; nothing without items.
type List struct {
	Items    []string
	Unmarked bool // as text without a dash before each
	Broken   bool // in Markdown broken to the width of a terminal, and not escaped
	Layout
}

// Term is a name and what is said of it.
type Term struct{ Name, Text string }

// Terms are terms beneath each other, their texts in one column; nothing in
// Markdown.
type Terms struct {
	Items []Term
	Width int // of the names as text, in columns
	Layout
}

// Lines are lines that are set as they are, never broken.
type Lines []string

// Markup is a piece of HTML, which the other forms leave out. It is not escaped.
type Markup string
