namespace PavementWatch.Core.Statistics;

/// <summary>Searches in lists that ascend.</summary>
public static class Ascending
{
    /// <summary>How many items, from the first on, are not above a bound; that is also the index of the first one above it.</summary>
    /// <param name="items">In ascending order.</param>
    /// <param name="bound">The bound.</param>
    /// <param name="isAbove">Whether an item is above the bound.</param>
    /// <returns>0 when all are above, the number of items when none is.</returns>
    public static int CountUpTo<TItem, TBound>(IReadOnlyList<TItem> items, TBound bound, Func<TItem, TBound, bool> isAbove)
    {
        ArgumentNullException.ThrowIfNull(items);
        ArgumentNullException.ThrowIfNull(isAbove);
        var (low, high) = (0, items.Count);
        while (low < high)
        {
            var middle = (low + high) / 2;
            if (isAbove(items[middle], bound))
                high = middle;
            else
                low = middle + 1;
        }

        return low;
    }
}
