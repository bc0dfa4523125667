package convolve

// Forget lets the engine remember no more than so many blocks of frequencies for long.
func (e *Engine) Forget(most int) { e.manyYoung = most }

// Shorten lets the sum's engine take no more than so many chunks of frequencies.
func (s *Sum) Shorten(most int) { s.e.most = most }
