package logbook

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
	"github.com/pelletier/go-toml/v2/unstable"

	"padside/fault"
)

// kind is what a value of the file is.
type kind string

const (
	isText    kind = "text"
	isNumber  kind = "a number"
	isBool    kind = "true or false"
	isDate    kind = "a date"
	isList    kind = "a list"
	isTable   kind = "a table"
	isUnknown kind = "something else"
)

// value is one value of the file and the line it stands on.
type value struct {
	kind  kind
	line  int
	text  string // isText: its content; isNumber, isBool, isDate: as written
	list  []*value
	table *table
}

// table holds keys in the order written.
type table struct {
	line    int
	entries []entry
	index   map[string]int // place of each key in entries, where there are many
}

// manyKeys is how many keys a table has before it is worth an index.
const manyKeys = 32

// add puts a key behind the others. Of a key that stands there twice, which the library refuses, the first counts.
func (t *table) add(e entry) {
	t.entries = append(t.entries, e)
	switch n := len(t.entries); {
	case n == manyKeys:
		t.index = map[string]int{}
		for i := n - 1; i >= 0; i-- {
			t.index[t.entries[i].key] = i
		}
	case n > manyKeys:
		if _, twice := t.index[e.key]; !twice {
			t.index[e.key] = n - 1
		}
	}
}

type entry struct {
	key   string
	line  int
	value *value
}

func (t *table) get(key string) *value {
	if t.index != nil {
		if i, ok := t.index[key]; ok {
			return t.entries[i].value
		}
		return nil
	}
	for _, e := range t.entries {
		if e.key == key {
			return e.value
		}
	}
	return nil
}

// longestFile is how large a launch file may be, bytes.
const longestFile = 4 << 20

// parseTree reads TOML into tables that know their lines. The grammar and the rules on
// doubled keys are the library's; the order and the lines are read from its syntax nodes.
func parseTree(name string, data []byte) (*table, error) {
	if len(data) > longestFile {
		return nil, fault.Requestf("a launch file is a short text", "%s: is larger than %d bytes", name, longestFile)
	}
	var plain map[string]any
	if err := toml.Unmarshal(data, &plain); err != nil {
		line := 1
		var de *toml.DecodeError
		if errors.As(err, &de) {
			line, _ = de.Position()
		}
		return nil, &fault.Error{Kind: fault.Request, Cause: err,
			Message: fmt.Sprintf("%s:%d: not valid TOML: %s", name, line, grammar(err, data, line)),
			Hint:    `write key = "value" lines under [section] headings; text stands in straight quotes`}
	}
	root := &table{line: 1}
	var p unstable.Parser
	p.Reset(data)
	current, at := root, newLines(data)
	for p.NextExpression() {
		e := p.Expression()
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			current = root.header(at, e)
		case unstable.KeyValue:
			current.put(at, e, at.of(e, current.line))
		}
	}
	if err := p.Error(); err != nil {
		return nil, fault.Requestf("write it as TOML", "%s:1: not valid TOML: %s", name, grammar(err, data, 1))
	}
	return root, nil
}

// curly are the quotes that word processors and phones put for the straight ones of TOML.
const curly = "\u201c\u201d\u201e\u2018\u2019\u00ab\u00bb"

// grammar says what is wrong with a line in one line; of a character that only looks like a quote the library knows no more than its first byte.
func grammar(err error, data []byte, line int) string {
	lines := strings.Split(string(data), "\n")
	if strings.Contains(err.Error(), "unexpected character") && line <= len(lines) {
		if i := strings.IndexAny(lines[line-1], curly); i >= 0 {
			r, _ := utf8.DecodeRuneInString(lines[line-1][i:])
			return fmt.Sprintf("%c is not a quote that files use", r)
		}
	}
	return strings.TrimPrefix(oneLine(err.Error()), "toml: ")
}

// header finds or makes the table that a heading opens.
func (t *table) header(at lines, e *unstable.Node) *table {
	it := e.Key()
	for it.Next() {
		k := it.Node()
		t = t.inside(string(k.Data), at.of(k, t.line), e.Kind == unstable.ArrayTable && it.IsLast())
	}
	return t
}

// inside returns the table under a key, the last one of a list of tables, or a new one.
func (t *table) inside(key string, line int, again bool) *table {
	v := t.get(key)
	if v == nil {
		v = &value{kind: isTable, line: line, table: &table{line: line}}
		if again {
			v = &value{kind: isList, line: line}
		}
		t.add(entry{key, line, v})
	}
	switch {
	case v.kind == isList && again:
		v.list = append(v.list, &value{kind: isTable, line: line, table: &table{line: line}})
		fallthrough
	case v.kind == isList && len(v.list) > 0 && v.list[len(v.list)-1].table != nil:
		return v.list[len(v.list)-1].table
	case v.table != nil:
		return v.table
	}
	return &table{line: line} // the library has refused such files already
}

// put stores a key and its value; dotted keys open tables on the way.
func (t *table) put(at lines, e *unstable.Node, line int) {
	it := e.Key()
	for it.Next() {
		k := it.Node()
		line = at.of(k, line)
		if !it.IsLast() {
			t = t.inside(string(k.Data), line, false)
			continue
		}
		t.add(entry{string(k.Data), line, newValue(at, e.Value(), line)})
	}
}

func newValue(at lines, n *unstable.Node, line int) *value {
	line = at.of(n, line)
	v := &value{kind: isUnknown, line: line, text: string(n.Data)}
	switch n.Kind {
	case unstable.String:
		v.kind = isText
	case unstable.Integer, unstable.Float:
		v.kind = isNumber
	case unstable.Bool:
		v.kind = isBool
	case unstable.LocalDate, unstable.LocalDateTime, unstable.DateTime:
		v.kind = isDate
	case unstable.Array:
		v.kind = isList
		it := n.Children()
		for it.Next() {
			if it.Node().Kind != unstable.Comment {
				v.list = append(v.list, newValue(at, it.Node(), line))
			}
		}
	case unstable.InlineTable:
		v.kind, v.table = isTable, &table{line: line}
		it := n.Children()
		for it.Next() {
			if it.Node().Kind == unstable.KeyValue {
				v.table.put(at, it.Node(), line)
			}
		}
	}
	return v
}

// lines are the places of a text's line breaks, in order: each node's line is found without counting from the start.
type lines []int

func newLines(text []byte) lines {
	var l lines
	for i, b := range text {
		if b == '\n' {
			l = append(l, i)
		}
	}
	return l
}

// of is the line of a node, or that of what holds it where the library keeps none.
func (l lines) of(n *unstable.Node, otherwise int) int {
	if n.Raw.Length == 0 {
		return otherwise
	}
	before, _ := slices.BinarySearch(l, int(n.Raw.Offset))
	return before + 1
}

func oneLine(s string) string {
	out := []rune(s)
	for i, r := range out {
		if r < ' ' {
			out[i] = ' '
		}
	}
	return string(out)
}
