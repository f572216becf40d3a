package ingest

func (f *File) readTM27(text []byte, o *Options) *Problem { return &Problem{Found: "XML"} }
