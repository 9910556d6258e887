package georef

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Bounds on the text that is taken apart: a definition of a compound CRS has
// some 5 000 characters and 10 levels.
const (
	maxText  = 1 << 20
	maxDepth = 50
)

// A Node is one element of well-known text, KEYWORD[…], in WKT 1 (OGC 01-009)
// or WKT 2 (OGC 18-010): both share the grammar of nested brackets.
type Node struct {
	// Keyword is in upper case.
	Keyword string
	// Words are the quoted texts, numbers and bare words, in order, without
	// quotes.
	Words []string
	// Nodes are the elements within.
	Nodes []*Node
}

// Parse takes well-known text apart. Anything but white space or NUL behind
// the outermost element is an error, as are unbalanced brackets and quotes.
func Parse(s string) (*Node, error) {
	if len(s) > maxText {
		return nil, fmt.Errorf("georef: well-known text of %d bytes is too long", len(s))
	}
	p := textParser{s: strings.TrimRight(s, "\x00 \t\r\n")}
	node, err := p.element(0)
	if err == nil && p.at != len(p.s) {
		err = errors.New("text goes on behind the last bracket")
	}
	if err != nil {
		return nil, fmt.Errorf("georef: well-known text at character %d: %w", p.at, err)
	}
	return node, nil
}

type textParser struct {
	s  string
	at int
}

func (p *textParser) space() {
	for p.at < len(p.s) && strings.IndexByte(" \t\r\n", p.s[p.at]) >= 0 {
		p.at++
	}
}

// peek returns the next character that is no white space, 0 at the end.
func (p *textParser) peek() byte {
	p.space()
	if p.at == len(p.s) {
		return 0
	}
	return p.s[p.at]
}

// bare reads a keyword, a number or an axis direction.
func (p *textParser) bare() string {
	p.space()
	start := p.at
	for p.at < len(p.s) && strings.IndexByte("[](),\"", p.s[p.at]) < 0 {
		p.at++
	}
	return strings.TrimSpace(p.s[start:p.at])
}

// quoted reads a text in quotes; a doubled quote stands for one.
func (p *textParser) quoted() (string, error) {
	var text strings.Builder
	p.at++
	for {
		end := strings.IndexByte(p.s[p.at:], '"')
		if end < 0 {
			return "", errors.New("a quote is not closed")
		}
		text.WriteString(p.s[p.at : p.at+end])
		p.at += end + 1
		if p.at == len(p.s) || p.s[p.at] != '"' {
			return text.String(), nil
		}
		text.WriteByte('"')
		p.at++
	}
}

func (p *textParser) element(depth int) (*Node, error) {
	keyword := p.bare()
	if keyword == "" || p.peek() != '[' && p.peek() != '(' {
		return nil, errors.New("a keyword and a bracket are expected")
	}
	if depth > maxDepth {
		return nil, errors.New("brackets are nested too deeply")
	}
	node := &Node{Keyword: strings.ToUpper(keyword)}
	for {
		p.at++ // the bracket or comma
		if err := p.value(node, depth); err != nil {
			return nil, err
		}
		switch p.peek() {
		case ',':
		case ']', ')':
			p.at++
			return node, nil
		default:
			return nil, errors.New("a comma or a closing bracket is expected")
		}
	}
}

func (p *textParser) value(node *Node, depth int) error {
	switch p.peek() {
	case 0:
		return errors.New("a bracket is not closed")
	case '"':
		text, err := p.quoted()
		node.Words = append(node.Words, text)
		return err
	}
	start := p.at
	word := p.bare()
	if next := p.peek(); next != '[' && next != '(' {
		node.Words = append(node.Words, word)
		return nil
	}
	p.at = start
	inner, err := p.element(depth + 1)
	if err != nil {
		return err
	}
	node.Nodes = append(node.Nodes, inner)
	return nil
}

// Child returns the first element within that has one of the keywords; nil
// when there is none.
func (n *Node) Child(keywords ...string) *Node {
	if n == nil {
		return nil
	}
	for _, inner := range n.Nodes {
		for _, k := range keywords {
			if inner.Keyword == k {
				return inner
			}
		}
	}
	return nil
}

// Word returns the i-th word, empty when there is none.
func (n *Node) Word(i int) string {
	if n == nil || i >= len(n.Words) {
		return ""
	}
	return n.Words[i]
}

// Number returns the i-th word as a number, 0 when it is none.
func (n *Node) Number(i int) float64 {
	v, err := strconv.ParseFloat(n.Word(i), 64)
	if err != nil {
		return 0
	}
	return v
}

// Identifier returns the authority and code that an element is given, as
// "EPSG" and 25832; empty and 0 when it has none with a number.
func (n *Node) Identifier() (authority string, code int) {
	id := n.Child("AUTHORITY", "ID")
	code, err := strconv.Atoi(id.Word(1))
	if err != nil || code <= 0 {
		return "", 0
	}
	return strings.ToUpper(id.Word(0)), code
}
