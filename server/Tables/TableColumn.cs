using PavementWatch.Core.Quantities;

namespace PavementWatch.Server.Tables;

/// <summary>A column as one table has it.</summary>
/// <param name="Name">Its name, in lower case, with its unit.</param>
/// <param name="Place">Which cell of a row it is, from 0; below 0 where the table has no such column.</param>
/// <param name="Range">What its numbers may be; <c>null</c> where something else looks.</param>
internal sealed record TableColumn(string Name, int Place, QuantityRange? Range)
{
    /// <summary>Whether the table has it.</summary>
    public bool IsThere => Place >= 0;
}
