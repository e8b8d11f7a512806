"""The helper board: frames, serial link, client, the virtual board and motor."""
