"""From `survey.yaml` to a typed manifest in which every mistake has been reported with its place."""
