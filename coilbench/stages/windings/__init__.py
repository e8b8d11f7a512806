"""The windings: which lead belongs to which coil, from resistance readings taken one at a time or out of a file."""
