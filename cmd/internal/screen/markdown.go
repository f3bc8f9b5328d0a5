package screen

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/glamour"
)

// Markdown writes a page: drawn on a terminal, as it is in a pipe.
func (s *Screen) Markdown(text string) error {
	if !s.laid || s.plain {
		_, err := fmt.Fprintln(s.Out, strings.TrimRight(s.ascii(text), "\n"))
		return err
	}
	style := "notty"
	if s.color {
		style = "auto"
	}
	drawn, err := s.render(text, style, s.width)
	if err != nil {
		return err
	}
	_, err = fmt.Fprint(s.Out, drawn)
	return err
}

// render draws Markdown in one of glamour's styles.
func (s *Screen) render(text, style string, width int) (string, error) {
	r, err := glamour.NewTermRenderer(glamour.WithStandardStyle(style), glamour.WithWordWrap(width))
	if err != nil {
		return "", err
	}
	return r.Render(tame(text))
}
