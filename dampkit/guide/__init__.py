"""The guide: topics written by hand as Markdown beside this file, and references made from the models when they are read."""
