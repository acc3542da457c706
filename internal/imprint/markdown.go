package imprint

import (
	"bytes"
	"strings"

	"github.com/microcosm-cc/bluemonday"
	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// HTML is a text in Markdown (CommonMark) as HTML. Of HTML in it nothing stays; of links
// those of the web and of mail; pictures and whatever else a browser would fetch are left
// out. Headings begin below those of the page.
func HTML(markdown string) (string, error) {
	var b bytes.Buffer
	md := goldmark.New(goldmark.WithParserOptions(parser.WithASTTransformers(util.Prioritized(lower{}, 100))))
	if err := md.Convert([]byte(markdown), &b); err != nil {
		return "", err
	}
	return strings.TrimSpace(allowed().Sanitize(b.String())), nil
}

// allowed is what may stand in a page.
func allowed() *bluemonday.Policy {
	p := bluemonday.NewPolicy()
	p.AllowElements("p", "br", "em", "strong", "ul", "ol", "li", "blockquote", "code", "pre", "h3", "h4", "h5", "h6", "hr")
	p.AllowAttrs("href").OnElements("a")
	p.AllowURLSchemes("http", "https", "mailto")
	p.RequireParseableURLs(true)
	p.RequireNoReferrerOnLinks(true)
	return p
}

// lower puts headings two levels down.
type lower struct{}

func (lower) Transform(doc *ast.Document, _ text.Reader, _ parser.Context) {
	_ = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if h, ok := n.(*ast.Heading); ok && entering {
			h.Level = min(h.Level+2, 6)
		}
		return ast.WalkContinue, nil
	})
}

// Plain is a text in Markdown as paragraphs without marks, for paper. An item of a list
// is a paragraph with a dash.
func Plain(markdown string) []string {
	src := []byte(markdown)
	doc := goldmark.New().Parser().Parse(text.NewReader(src))
	var out []string
	_ = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		switch n.(type) {
		case *ast.Paragraph, *ast.TextBlock, *ast.Heading:
			if !entering {
				return ast.WalkContinue, nil
			}
			s := strings.Join(strings.Fields(words(n, src)), " ")
			if _, item := n.Parent().(*ast.ListItem); item {
				s = "– " + s
			}
			if s != "" {
				out = append(out, s)
			}
			return ast.WalkSkipChildren, nil
		}
		return ast.WalkContinue, nil
	})
	return out
}

// words joins the text of a node and what is in it.
func words(n ast.Node, src []byte) string {
	var b strings.Builder
	_ = ast.Walk(n, func(c ast.Node, entering bool) (ast.WalkStatus, error) {
		if t, ok := c.(*ast.Text); ok && entering {
			b.Write(t.Segment.Value(src))
			if t.SoftLineBreak() || t.HardLineBreak() {
				b.WriteByte(' ')
			}
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}
