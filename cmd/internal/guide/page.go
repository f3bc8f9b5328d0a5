package guide

import "feedproof/schema"

// Tone is what a piece of a page means. It is drawn as a colour only where the
// words already say it.
type Tone int

// Tones, by what ISO 3864-4 and ANSI Z535 give a colour for.
const (
	Plain Tone = iota
	Strong
	Faint
	Good    // green, safe condition
	Careful // yellow, caution
	Bad     // red, prohibition and fire
	Info    // blue, information
	Typed   // where something is typed
)

// Span is a piece of a line.
type Span struct {
	Text string
	Tone Tone
	Wide bool // drawn with its letters apart, to be read from two metres
}

// Line is a line of a page. What does not fit goes on below, as far in as Hang.
type Line struct {
	Spans []Span
	Hang  int
	Bar   Tone // fills the line to its end
	Rule  bool // a line drawn across
	Pick  bool // stands for one of the page's Choices
}

// Text is a line of one piece.
func Text(text string) Line { return Line{Spans: []Span{{Text: text}}} }

// Toned is a line of one piece with a tone.
func Toned(text string, tone Tone) Line { return Line{Spans: []Span{{Text: text, Tone: tone}}} }

// Page is what a full screen shows: Top, Banner and Bottom stand still, Middle
// is cut to what fits, from the line Scroll on. Markdown comes below Middle. The
// banner is three lines high where there is room for it.
type Page struct {
	Top, Middle, Bottom []Line
	Banner              Line
	Markdown            string
	Scroll              int
	More                string // said where the middle goes on below
	Title               string // of the window
	Choices             []Choice
	Asks                *Asks // what is typed; nil where there are choices alone
}

// ToneOf is the safety colour of a severity.
func ToneOf(severity schema.Severity) Tone {
	switch {
	case severity >= schema.Hold:
		return Bad
	case severity >= schema.Flag:
		return Careful
	case severity == schema.Note:
		return Info
	}
	return Good
}
