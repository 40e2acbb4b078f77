using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Notifications;

/// <summary>In which unit those who get a message read temperatures.</summary>
internal static class ReadersUnits
{
    /// <summary>Looks them up.</summary>
    /// <returns>By person; who is missing reads both.</returns>
    public static async Task<IReadOnlyDictionary<int, TemperatureUnit>> FindAsync(RegistryDb db, IEnumerable<int> people, CancellationToken cancellationToken)
    {
        var ids = people.Distinct().ToList();
        return ids.Count == 0
            ? new Dictionary<int, TemperatureUnit>()
            : await db.People.Where(p => ids.Contains(p.Id) && p.Unit != TemperatureUnit.Both).ToDictionaryAsync(p => p.Id, p => p.Unit, cancellationToken);
    }
}
