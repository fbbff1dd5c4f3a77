// A plan has an order of its own; people look for things in the order in which they wrote them.

/**
 * @template T
 * @param {{line?: number}[]} things as the ship has them
 * @param {{element: T}[]} rows one each
 * @returns {T[]} the rows' elements in the order of the ship file
 */
export function in_file_order(things, rows) {
  return rows
    .map((row, index) => ({ element: row.element, line: things[index].line ?? 0 }))
    .sort((one, other) => one.line - other.line)
    .map(({ element }) => element);
}
