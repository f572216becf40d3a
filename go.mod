module lampassay

go 1.26
