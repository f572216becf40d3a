package webapp

import (
	"context"
	"net"
	"sync"
)

// memory keeps what was made, up to a number of things. What is asked for by
// several at once is made once. Of too many the one longest kept goes.
type memory[K comparable, V any] struct {
	mu    sync.Mutex
	most  int
	kept  map[K]*made[V]
	order []K
}

type made[V any] struct {
	done chan struct{}
	v    V
	err  error
}

func newMemory[K comparable, V any](most int) *memory[K, V] {
	return &memory[K, V]{most: most, kept: map[K]*made[V]{}}
}

// get returns what is kept under k, or makes it. An error is not kept. make goes on
// where the one who asked goes away, since others may wait.
func (m *memory[K, V]) get(ctx context.Context, k K, make func(context.Context) (V, error)) (V, error) {
	m.mu.Lock()
	one, has := m.kept[k]
	if !has {
		one = &made[V]{done: newSignal()}
		m.kept[k] = one
		if m.order = append(m.order, k); len(m.order) > m.most {
			delete(m.kept, m.order[0])
			m.order = m.order[1:]
		}
		go m.fill(context.WithoutCancel(ctx), k, one, make)
	}
	m.mu.Unlock()
	select {
	case <-one.done:
		return one.v, one.err
	case <-ctx.Done():
		var none V
		return none, ctx.Err()
	}
}

func (m *memory[K, V]) fill(ctx context.Context, k K, one *made[V], make func(context.Context) (V, error)) {
	defer close(one.done)
	if one.v, one.err = make(ctx); one.err == nil {
		return
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.kept[k] == one {
		delete(m.kept, k)
		for i, other := range m.order {
			if other == k {
				m.order = append(m.order[:i], m.order[i+1:]...)
				break
			}
		}
	}
}

func newSignal() chan struct{} { return make(chan struct{}) }

func baseContext(ctx context.Context) func(net.Listener) context.Context {
	return func(net.Listener) context.Context { return ctx }
}
