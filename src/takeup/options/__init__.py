"""One module per option: conditions, consequences, tasks, life after."""
