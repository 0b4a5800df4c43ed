package footage

import (
	"container/list"
	"sync"
)

// defaultCacheBytes holds 29 colour pictures of 1920 x 570 px.
const defaultCacheBytes = 128 << 20

// cache keeps what was decoded last, up to a number of bytes.
type cache struct {
	mu           sync.Mutex
	limit, bytes int64
	order        *list.List // of cached, the one used last in front
	places       map[cacheKey]*list.Element
}

type cacheKey struct {
	frame  int
	colour bool
}

type cached struct {
	key   cacheKey
	value any
	bytes int64
}

func newCache(limit int64) *cache {
	if limit <= 0 {
		limit = defaultCacheBytes
	}
	return &cache{limit: limit, order: list.New(), places: map[cacheKey]*list.Element{}}
}

// get returns what was put under the key, or nil.
func (c *cache) get(k cacheKey) any {
	c.mu.Lock()
	defer c.mu.Unlock()
	e, ok := c.places[k]
	if !ok {
		return nil
	}
	c.order.MoveToFront(e)
	return e.Value.(cached).value
}

// has says whether the key is there, and does not count as use.
func (c *cache) has(k cacheKey) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	_, ok := c.places[k]
	return ok
}

// put adds a value and lets go of those unused for longest that no longer fit.
func (c *cache) put(k cacheKey, value any, bytes int64) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if _, ok := c.places[k]; ok || bytes > c.limit {
		return
	}
	c.places[k] = c.order.PushFront(cached{k, value, bytes})
	for c.bytes += bytes; c.bytes > c.limit; {
		old := c.order.Remove(c.order.Back()).(cached)
		delete(c.places, old.key)
		c.bytes -= old.bytes
	}
}

// clear lets go of everything.
func (c *cache) clear() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.order.Init()
	clear(c.places)
	c.bytes = 0
}
