package terminal

import (
	"fmt"
	"regexp"
	"strings"

	"github.com/charmbracelet/glamour"
	gansi "github.com/charmbracelet/glamour/ansi"
	"github.com/charmbracelet/glamour/styles"
)

// Markdown writes a page: drawn on a terminal, as it is in a pipe.
func (s *Screen) Markdown(text string) error {
	if !s.laid {
		_, err := fmt.Fprintln(s.Out, strings.TrimRight(s.ascii(text), "\n"))
		return err
	}
	style := styles.NoTTYStyle
	if s.color {
		style = styles.AutoStyle
	}
	drawn, err := render(text, glamour.WithStandardStyle(style), s.width)
	if err != nil {
		return err
	}
	if s.plain {
		drawn = s.ascii(drawn)
	}
	_, err = fmt.Fprint(s.Out, drawn)
	return err
}

// render draws Markdown in a style.
func render(text string, style glamour.TermRendererOption, width int) (string, error) {
	r, err := glamour.NewTermRenderer(style, glamour.WithWordWrap(width))
	if err != nil {
		return "", err
	}
	drawn, err := r.Render(beforeWords.ReplaceAllStringFunc(tame(text), unbroken.Replace))
	return drawnByUs(hyphens.Replace(drawn)), err
}

// beforeWords are hyphens that belong to a word. Those of lists and rules have
// none behind them.
var beforeWords = regexp.MustCompile(`-{1,2}[\pL\pN]`)

// pageStyle draws with bold alone, which reads on light and dark terminals.
var pageStyle = func() gansi.StyleConfig {
	s := styles.NoTTYStyleConfig
	bold := true
	s.Strong = gansi.StylePrimitive{Bold: &bold}
	s.Heading.Bold = &bold
	for _, h := range []*gansi.StyleBlock{&s.H1, &s.H2, &s.H3} {
		h.Prefix = ""
	}
	return s
}()
