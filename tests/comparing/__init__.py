"""Pictures of drawings, marked or not: ours, a flat renderer's and a browser's."""
