package convolve

// Forget lets the engine remember no more than so many transforms for long.
func (e *Engine) Forget(most int) { e.manyYoung = most }

// JoinNothing lets the engine tell all lead times apart.
func (e *Engine) JoinNothing() { e.joined = 0 }
