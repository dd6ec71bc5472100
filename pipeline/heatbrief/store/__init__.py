"""What lasts: content-addressed objects, keys with reasons, the cache of job outcomes, results in and out."""
