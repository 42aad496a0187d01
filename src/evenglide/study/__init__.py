"""The frozen words of a study: question, treatments, gear, surfaces, design, schedule, seal."""
