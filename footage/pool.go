package footage

// pool keeps frame buffers of one size for reuse. Unlike a sync.Pool it holds a fixed number, so that how much memory a pass
// over a clip needs does not hang on when the garbage collector runs.
type pool struct {
	width, height, depth int
	free                 chan *Luma
}

// pooled is how many buffers rest in a pool at most: more than are in flight between decoder, visitor and what it keeps back.
const pooled = 16

func newPool(width, height, depth int) *pool {
	return &pool{width, height, depth, make(chan *Luma, pooled)}
}

// get returns a buffer whose content is undefined.
func (p *pool) get() *Luma {
	select {
	case l := <-p.free:
		return l
	default:
		return newLuma(p.width, p.height, p.depth)
	}
}

func (p *pool) put(l *Luma) {
	select {
	case p.free <- l:
	default:
	}
}
