package terminal

import (
	"bufio"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"feedproof/cmd/internal/guide"
	"feedproof/cmd/internal/visible"

	tea "charm.land/bubbletea/v2"
)

// Guide is what a full screen shows and what its keys do.
type Guide interface {
	// Show is the page as it stands.
	Show() guide.Page
	// Key is one key: a character, or enter, esc, backspace, up, down, f1.
	Key(key string)
	// Line is a whole answer, as line mode takes it.
	Line(answer string)
	// Scrolled tells how far down the page could really be shown.
	Scrolled(line int)
	// Left reports that the person is done here.
	Left() bool
}

// Interactive reports that a person sits at both ends: keys can be read and a
// page drawn over and over.
func (s *Screen) Interactive(in io.Reader) bool { return s.terminal && isTerminal(in) && !s.plain }

// Run shows the guide full screen until the person leaves.
func (s *Screen) Run(in io.Reader, g Guide) error {
	_, err := tea.NewProgram(&full{screen: s, guide: g, width: s.width, height: defaultHeight}, tea.WithInput(in), tea.WithOutput(s.raw.out)).Run()
	return err
}

const defaultHeight = 24

// full joins a guide to the terminal.
type full struct {
	screen        *Screen
	guide         Guide
	width, height int
}

// beat is how often the clock on the screen moves.
const beat = time.Second

type beaten struct{}

func nextBeat() tea.Cmd { return tea.Tick(beat, func(time.Time) tea.Msg { return beaten{} }) }

// Init starts the clock.
func (f *full) Init() tea.Cmd { return nextBeat() }

// Update hands keys on.
func (f *full) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	switch m := msg.(type) {
	case tea.WindowSizeMsg:
		f.width, f.height = m.Width, m.Height
	case beaten:
		return f, nextBeat()
	case tea.PasteMsg:
		f.typed(m.Content)
	case tea.KeyPressMsg:
		if key := m.Keystroke(); key == "ctrl+c" {
			return f, tea.Quit
		}
		f.key(m.Key())
	}
	if f.guide.Left() {
		return f, tea.Quit
	}
	return f, nil
}

func (f *full) key(k tea.Key) {
	if k.Text != "" {
		f.typed(k.Text)
		return
	}
	name := k.Keystroke()
	if name == "kpenter" {
		name = "enter"
	}
	f.guide.Key(name)
}

func (f *full) typed(text string) {
	for _, r := range text {
		if !visible.Hidden(r) && r != '\n' && r != '\t' {
			f.guide.Key(string(r))
		}
	}
}

// View draws the page.
func (f *full) View() tea.View {
	sheet := f.guide.Show()
	text, furthest := f.screen.draw(sheet, f.width, f.height)
	f.guide.Scrolled(min(sheet.Scroll, furthest))
	v := tea.NewView(text)
	v.AltScreen = true
	v.WindowTitle = tame(sheet.Title)
	return v
}

// Lines shows the guide line by line: for screen readers, pipes and terminals
// that cannot be drawn over. Each line that is read is one answer.
func (s *Screen) Lines(in io.Reader, g Guide) error {
	answers := bufio.NewScanner(in)
	for !g.Left() {
		s.sayLines(g.Show())
		if !answers.Scan() {
			return answers.Err()
		}
		g.Line(strings.TrimSpace(answers.Text()))
	}
	return nil
}

func (s *Screen) sayLines(p guide.Page) {
	for _, part := range [][]guide.Line{p.Top, {p.Banner}, p.Middle} {
		for _, l := range s.plainly(part) {
			fmt.Fprintln(s.Out, l)
		}
	}
	if p.Markdown != "" {
		fmt.Fprintln(s.Out, strings.TrimRight(s.ascii(p.Markdown), "\n"))
	}
	for _, l := range s.plainly(p.Bottom) {
		fmt.Fprintln(s.Out, l)
	}
	fmt.Fprintln(s.Out)
}

// plainly is lines without colour, blank ones and rules left out.
func (s *Screen) plainly(lines []guide.Line) []string {
	was := s.color
	s.color = false
	defer func() { s.color = was }()
	var out []string
	for _, l := range lines {
		said := slices.Clone(l.Spans)
		for i := range said {
			said[i].Wide = false
		}
		for _, row := range s.wrapped(guide.Line{Spans: said, Hang: l.Hang}, s.width) {
			if row = strings.TrimRight(row, " "); row != "" {
				out = append(out, row)
			}
		}
	}
	return out
}
