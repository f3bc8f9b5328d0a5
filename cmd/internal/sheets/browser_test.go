package sheets

import (
	"context"
	"fmt"
	"math"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// browser starts a headless Chromium, which make test brings.
func browser(t *testing.T) context.Context {
	t.Helper()
	var found string
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			found = path
			break
		}
	}
	if found == "" {
		t.Fatal("Chromium is not installed: apt-get install chromium")
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(found), chromedp.NoSandbox, chromedp.Flag("disable-dev-shm-usage", true))
	ctx, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	ctx, stop = context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(stop)
	return ctx
}

// open shows a sheet.
func open(t *testing.T, ctx context.Context, d *Document) {
	t.Helper()
	text, err := d.HTML()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "sheet.html")
	write(t, path, string(text))
	if err := chromedp.Do(ctx, chromedp.Navigate((&url.URL{Scheme: "file", Path: path}).String())); err != nil {
		t.Fatal(err)
	}
}

// Papers, in inches: A4 of ISO 216 and Letter of ANSI/ASME Y14.1.
var formats = map[string][2]float64{"A4": {210 / 25.4, 297 / 25.4}, "Letter": {8.5, 11}}

// pageObject is a page in a PDF (ISO 32000-1, 7.7.3.3), not the tree of them.
var pageObject = regexp.MustCompile(`/Type\s*/Page[^s]`)

// Sheets in a browser: printed on one or two pages, nothing cut off, every text
// against its ground at 4.5 to 1 or better (WCAG 2.2, 1.4.3), and a tree of
// headings, tables and pictures for those who do not see it.
func TestInABrowser(t *testing.T) {
	ctx := browser(t)
	kept := os.Getenv("FEEDPROOF_SCREENSHOTS")
	for name, d := range sheets(t) {
		t.Run(name, func(t *testing.T) {
			open(t, ctx, d)
			printed(t, ctx, name, kept)
			legible(t, ctx)
			accessible(t, ctx)
			if kept != "" {
				shot, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
				if err != nil {
					t.Fatal(err)
				}
				write(t, filepath.Join(kept, name+".png"), string(shot))
			}
		})
	}
}

func printed(t *testing.T, ctx context.Context, name, kept string) {
	t.Helper()
	most := 2
	if strings.HasPrefix(name, "job.") {
		most = 1
	}
	for format, size := range formats {
		pdf, err := chromedp.Call(ctx, page.PrintToPDF, page.PrintToPDFParams{PaperWidth: size[0], PaperHeight: size[1], PreferCSSPageSize: new(true), PrintBackground: new(true)})
		if err != nil {
			t.Fatal(err)
		}
		if pages := len(pageObject.FindAll(pdf.Data, -1)); pages < 1 || pages > most {
			t.Errorf("%s: %d pages, want 1 to %d", format, pages, most)
		}
		if kept != "" {
			write(t, filepath.Join(kept, name+"."+format+".pdf"), string(pdf.Data))
		}
	}
}

// seen is what a script found in the page.
type seen struct {
	Cut      []string
	Low      []string
	Texts    int
	Overflow float64
}

// looking walks every text: is it cut off by a box around it or by the page, and
// how far does it stand out from its ground?
const looking = `(() => {
  const out = {Cut: [], Low: [], Texts: 0, Overflow: document.documentElement.scrollWidth - document.documentElement.clientWidth};
  const rgb = c => { const m = /rgba?\(([^)]+)\)/.exec(c); if (!m) return null; const p = m[1].split(/[ ,\/]+/).map(Number); return p.length > 3 && p[3] === 0 ? null : p; };
  const light = p => { const f = p.slice(0, 3).map(v => { v /= 255; return v <= 0.04045 ? v / 12.92 : Math.pow((v + 0.055) / 1.055, 2.4); }); return 0.2126 * f[0] + 0.7152 * f[1] + 0.0722 * f[2]; };
  const ratio = (a, b) => { const x = light(a), y = light(b); return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05); };
  const ground = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c) return c; } return [255, 255, 255]; };
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let n; n = walk.nextNode();) {
    const e = n.parentElement;
    if (!n.textContent.trim() || ['STYLE', 'title', 'desc'].includes(e.tagName)) continue;
    out.Texts++;
    const svg = e.closest('svg');
    const range = document.createRange(); range.selectNodeContents(n);
    const box = range.getBoundingClientRect();
    const edge = (svg || document.documentElement).getBoundingClientRect();
    if (box.left < edge.left - 1 || box.right > edge.right + 1 || svg && (box.top < edge.top - 1 || box.bottom > edge.bottom + 1)) out.Cut.push(n.textContent.trim());
    for (let p = e; p && !svg; p = p.parentElement) { const s = getComputedStyle(p); if (s.overflow !== 'visible' && p !== document.body && p.scrollWidth > p.clientWidth + 1) out.Cut.push(n.textContent.trim()); }
    const ink = rgb(svg ? getComputedStyle(e).fill : getComputedStyle(e).color);
    const r = ink ? ratio(ink, svg ? [255, 255, 255] : ground(e)) : 0;
    if (r < 4.5) out.Low.push(r.toFixed(2) + ': ' + n.textContent.trim());
  }
  return out;
})()`

func legible(t *testing.T, ctx context.Context) {
	t.Helper()
	for _, width := range []int64{1280, 718} { // a window, and the printed page at 96 px an inch
		if _, err := chromedp.Call(ctx, emulation.SetDeviceMetricsOverride, emulation.SetDeviceMetricsOverrideParams{Width: width, Height: 900, DeviceScaleFactor: 1}); err != nil {
			t.Fatal(err)
		}
		s, err := chromedp.Run(ctx, chromedp.Evaluate[seen](looking))
		if err != nil {
			t.Fatal(err)
		}
		const leastTexts = 19 // of a job sheet with nothing left to do
		if s.Texts < leastTexts {
			t.Fatalf("only %d texts were looked at", s.Texts)
		}
		if s.Overflow > 1 || len(s.Cut) > 0 {
			t.Errorf("at %d px: %g px too wide, cut off: %q", width, s.Overflow, s.Cut)
		}
		if len(s.Low) > 0 {
			t.Errorf("less than 4.5 to 1: %q", s.Low)
		}
	}
}

// accessible reads the tree that a screen reader is given.
func accessible(t *testing.T, ctx context.Context) {
	t.Helper()
	tree, err := chromedp.Call(ctx, accessibility.GetFullAXTree, accessibility.GetFullAXTreeParams{})
	if err != nil {
		t.Fatal(err)
	}
	count := map[string]int{}
	level := 0
	for _, n := range tree.Nodes {
		if n.Ignored || n.Role == nil {
			continue
		}
		role := strings.Trim(string(n.Role.Value), `"`)
		count[role]++
		label := ""
		if n.Name != nil {
			label = strings.Trim(string(n.Name.Value), `"`)
		}
		switch role {
		case "heading":
			at := headingLevel(n)
			if label == "" || at > level+1 {
				t.Errorf("heading %q of level %d after level %d", label, at, level)
			}
			level = at
		case "image", "img", "graphics-document":
			if label == "" {
				t.Errorf("a picture without a name")
			}
		}
	}
	if count["heading"] == 0 || count["main"] != 1 || count["table"]+count["LayoutTable"] == 0 {
		t.Errorf("the tree holds %v", count)
	}
}

func headingLevel(n *accessibility.Node) int {
	for _, p := range n.Properties {
		if p.Name == "level" && p.Value != nil {
			var level int
			if _, err := fmt.Sscan(string(p.Value.Value), &level); err == nil {
				return level
			}
		}
	}
	return math.MaxInt
}

// The measures above can fail: a sheet spoiled on purpose is noticed.
func TestTheBrowserNotices(t *testing.T) {
	ctx := browser(t)
	open(t, ctx, sheets(t)["customer.released."+Metric])
	spoil := `document.querySelector('h1').style.cssText = 'color:#999;white-space:nowrap;font-size:200px'`
	s, err := chromedp.Run(ctx, chromedp.Evaluate[seen](spoil+";"+looking))
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Low) == 0 || len(s.Cut) == 0 && s.Overflow <= 1 {
		t.Errorf("a pale heading too wide for the page was not noticed: %+v", s)
	}
}
