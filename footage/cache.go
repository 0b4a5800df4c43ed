package footage

import "container/list"

const defaultCacheBytes = 64 << 20

// cache keeps the frames decoded last, up to a number of bytes. It is not safe for use by
// several goroutines at once.
type cache struct {
	limit, bytes int64
	order        *list.List // of Frame, the one used last in front
	places       map[int]*list.Element
}

func newCache(limit int64) *cache {
	if limit <= 0 {
		limit = defaultCacheBytes
	}
	return &cache{limit: limit, order: list.New(), places: map[int]*list.Element{}}
}

// get returns frame i, or nil.
func (c *cache) get(i int) *Luma {
	e, ok := c.places[i]
	if !ok {
		return nil
	}
	c.order.MoveToFront(e)
	return e.Value.(Frame).Luma
}

// put adds a frame and lets go of those unused for longest that no longer fit.
func (c *cache) put(f Frame) {
	if _, ok := c.places[f.Index]; ok || f.Luma.bytes() > c.limit {
		return
	}
	c.places[f.Index] = c.order.PushFront(f)
	for c.bytes += f.Luma.bytes(); c.bytes > c.limit; {
		old := c.order.Remove(c.order.Back()).(Frame)
		delete(c.places, old.Index)
		c.bytes -= old.Luma.bytes()
	}
}

// bytes is the size of the samples in memory.
func (l *Luma) bytes() int64 { return int64(len(l.Pix8) + 2*len(l.Pix16)) }
