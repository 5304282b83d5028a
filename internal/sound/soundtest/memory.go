package soundtest

import "io"

// Memory is a file in memory, for writers that go back; the zero value is empty.
type Memory struct {
	Bytes []byte
	at    int64
}

// Write writes at the present place and grows the file where it must.
func (m *Memory) Write(p []byte) (int, error) {
	if end := m.at + int64(len(p)); end > int64(len(m.Bytes)) {
		m.Bytes = append(m.Bytes, make([]byte, end-int64(len(m.Bytes)))...)
	}
	m.at += int64(copy(m.Bytes[m.at:], p))
	return len(p), nil
}

// Seek moves the present place, as io.Seeker has it.
func (m *Memory) Seek(offset int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		offset += m.at
	case io.SeekEnd:
		offset += int64(len(m.Bytes))
	}
	m.at = offset
	return offset, nil
}
