-- expect: error "'string' is read-only: 'rep' cannot be set"
string.rep = nil
