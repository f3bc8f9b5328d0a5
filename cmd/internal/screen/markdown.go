package screen

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/glamour"
)

// Markdown writes a page: drawn on a terminal, as it is in a pipe.
func (s *Screen) Markdown(text string) error {
	if !s.terminal || s.plain {
		_, err := fmt.Fprintln(s.Out, strings.TrimRight(s.ascii(text), "\n"))
		return err
	}
	style := "notty"
	if s.color {
		style = "auto"
	}
	r, err := glamour.NewTermRenderer(glamour.WithStandardStyle(style), glamour.WithWordWrap(s.width))
	if err != nil {
		return err
	}
	drawn, err := r.Render(tame(text))
	if err != nil {
		return err
	}
	_, err = fmt.Fprint(s.Out, drawn)
	return err
}
