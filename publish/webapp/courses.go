package webapp

import (
	"context"
	"sync"

	"lampassay/bench/course"
	"lampassay/bench/notebook"
)

// courses keeps the numbers of the sittings that were looked at last.
type courses struct {
	mu    sync.Mutex
	of    map[notebook.ID]*course.Record
	order []notebook.ID // as they were first asked for
}

// mostCourses bounds how many sittings are kept in memory.
const mostCourses = 16

func (c *courses) at(nb notebook.Notebook, sitting notebook.ID) *course.Record {
	c.mu.Lock()
	defer c.mu.Unlock()
	if r := c.of[sitting]; r != nil {
		return r
	}
	if c.of == nil {
		c.of = map[notebook.ID]*course.Record{}
	}
	if len(c.order) >= mostCourses {
		delete(c.of, c.order[0])
		c.order = c.order[1:]
	}
	r := course.New(nb, sitting)
	c.of[sitting], c.order = r, append(c.order, sitting)
	return r
}

// course reads a sitting's numbers, without what was set aside.
func (s *Server) course(ctx context.Context, sit *notebook.Sitting) (*course.Course, error) {
	r := s.courses.at(s.nb, sit.ID)
	if _, err := r.Extend(ctx); err != nil {
		return nil, err
	}
	return r.Course(sit), nil
}
