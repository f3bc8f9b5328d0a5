package sheets

import (
	"bytes"
	_ "embed"
	"html/template"
	"strings"

	"feedproof/cmd/internal/visible"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/extension"
)

//go:embed sheet.css
var style string

// frame is the file around a document: no script, nothing from elsewhere.
var frame = template.Must(template.New("sheet").Parse(`<!DOCTYPE html>
<html lang="{{.Language}}">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src data:">
<title>{{.Title}}</title>
<style>
{{.Style}}</style>
</head>
<body>
<main>
{{range .Parts}}{{.}}{{end}}</main>
</body>
</html>
`))

// markdown is CommonMark with tables. Raw HTML in it is left out.
var markdown = goldmark.New(goldmark.WithExtensions(extension.Table))

// HTML is the document as one file.
func (d *Document) HTML() ([]byte, error) {
	page := struct {
		Title, Language string
		Style           template.CSS
		Parts           []template.HTML
	}{Title: d.Title, Language: d.words.Code, Style: template.CSS(style)}
	for _, b := range d.Blocks {
		part, err := b.html()
		if err != nil {
			return nil, err
		}
		page.Parts = append(page.Parts, part)
	}
	var out bytes.Buffer
	err := frame.Execute(&out, page)
	return []byte(visible.Text(out.String())), err
}

// html is a piece of the document. It is our own: text comes through goldmark,
// which escapes it, and charts escape theirs.
func (b Block) html() (template.HTML, error) {
	if b.Chart != nil {
		return template.HTML("<figure>\n" + string(b.Chart.SVG()) + "</figure>\n"), nil
	}
	var text bytes.Buffer
	if err := markdown.Convert([]byte(b.Markdown), &text); err != nil {
		return "", err
	}
	drawn := strings.ReplaceAll(text.String(), "⯃", octagon)
	if b.Class == "" {
		return template.HTML(drawn), nil
	}
	return template.HTML("<section class=\"" + b.Class + "\">\n" + drawn + "</section>\n"), nil
}

// octagon is drawn: hardly any font has it.
const octagon = `<svg class="mark" viewBox="0 0 10 10" aria-hidden="true"><polygon points="3,0 7,0 10,3 10,7 7,10 3,10 0,7 0,3"/></svg>`
