"""From evidence to segments: the order and length of steps, the decoder, and learning from what people accepted."""
