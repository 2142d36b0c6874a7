"""What names a patient: found in words, names of files, metadata and pictures. It finds; what leaves is made in `leaving`."""
