"""Reports for people and for machines. User text is made safe here, once, before anything is shown."""
