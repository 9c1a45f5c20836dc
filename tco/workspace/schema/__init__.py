"""How cases lie in a database: tables and their upgrades, rows, connections, what can be saved."""
