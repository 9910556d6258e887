package copc

import (
	"slices"

	"quoin/extract/las/laz"
)

const (
	// pageEntries is the most entries of a hierarchy in one page.
	pageEntries = 4096
	// pageLevels is how many levels a page has where there are several.
	pageLevels = 4
)

// pages is a hierarchy as it is written.
type pages struct {
	data []byte
	root int // bytes of the first page
}

// paginate returns the hierarchy of nodes with the given chunks, whose data
// will stand at a place of the file.
func paginate(keys []Key, chunks []laz.Extent, at int64) pages {
	entries := complete(keys, chunks)
	levels := int32(pageLevels)
	if len(entries) <= pageEntries {
		levels = maxLevel + 1
	}
	var roots []Key // of pages, in the order of entries
	var content [][]entry
	page := map[Key]int{}
	for _, e := range entries {
		root := e.key.up(e.key.Level / levels * levels)
		i, ok := page[root]
		if !ok {
			i = len(roots)
			page[root] = i
			roots = append(roots, root)
			content = append(content, nil)
			if root.Level > 0 {
				above := page[root.up(root.Level-levels)]
				content[above] = append(content[above], entry{key: root, points: elsewhere})
			}
		}
		content[i] = append(content[i], e)
	}
	places := make(map[Key]place, len(roots))
	for i, root := range roots {
		size := len(content[i]) * entrySize
		places[root] = place{uint64(at), uint64(size)}
		at += int64(size)
	}
	p := pages{root: len(content[0]) * entrySize}
	for _, list := range content {
		for _, e := range list {
			if e.points == elsewhere {
				to := places[e.key]
				e.offset, e.size = to.offset, int32(to.size)
			}
			p.data = e.append(p.data)
		}
	}
	return p
}

// complete returns the entries of nodes and of those above them that have no
// points, in the order of keys.
func complete(keys []Key, chunks []laz.Extent) []entry {
	has := map[Key]bool{}
	var entries []entry
	for i, k := range keys {
		has[k] = true
		entries = append(entries, entry{k, uint64(chunks[i].Offset), int32(chunks[i].Size), int32(chunks[i].Points)})
	}
	for _, k := range slices.Concat(keys, []Key{{}}) {
		for level := k.Level; level >= 0; level-- {
			if up := k.up(level); !has[up] {
				has[up] = true
				entries = append(entries, entry{key: up})
			}
		}
	}
	slices.SortFunc(entries, func(a, b entry) int { return a.key.compare(b.key) })
	return entries
}
