"""What the motor can take: connections, heating, back-EMF, insulation."""
