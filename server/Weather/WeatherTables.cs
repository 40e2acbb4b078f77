using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Weather;

/// <summary>The registry's tables of this folder.</summary>
internal static class WeatherTables
{
    extension(RegistryDb db)
    {
        public DbSet<WeatherRow> Weather => db.Set<WeatherRow>();
    }
}
