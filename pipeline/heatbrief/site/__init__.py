"""Results to pages to a static site. Reads the results document and its objects, nothing else; computes nothing."""
