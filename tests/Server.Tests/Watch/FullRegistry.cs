using System.Data.Common;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Server.Database;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>A registry whose disk is full, or cannot even be read, for as long as the test wants.</summary>
internal sealed class FullRegistry : DbCommandInterceptor
{
    private const int Full = 13;
    private const int InputOutput = 10;
    private const int Constraint = 19;

    private volatile bool _isFull;
    private volatile bool _isUnreadable;
    private volatile string? _unwritableSpot;
    private int _refusedLooksForDevices;

    /// <summary>Whether it takes nothing.</summary>
    public bool IsFull
    {
        get => _isFull;
        set => _isFull = value;
    }

    /// <summary>Whether it does not answer either.</summary>
    public bool IsUnreadable
    {
        get => _isUnreadable;
        set => _isUnreadable = value;
    }

    /// <summary>Spot of which no change can be written, as by a mistake of ours; <c>null</c> unless set.</summary>
    public string? UnwritableSpot
    {
        get => _unwritableSpot;
        set => _unwritableSpot = value;
    }

    /// <summary>How often somebody asked in vain whom to tell.</summary>
    public int RefusedLooksForDevices => Volatile.Read(ref _refusedLooksForDevices);

    public void AddTo(IServiceCollection services) => services.ConfigureDbContext<RegistryDb>(options => options.AddInterceptors(this));

    public override ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
        DbCommand command, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default)
    {
        Refuse(command);
        return base.ReaderExecutingAsync(command, eventData, result, cancellationToken);
    }

    public override ValueTask<InterceptionResult<int>> NonQueryExecutingAsync(
        DbCommand command, CommandEventData eventData, InterceptionResult<int> result, CancellationToken cancellationToken = default)
    {
        Refuse(command);
        return base.NonQueryExecutingAsync(command, eventData, result, cancellationToken);
    }

    private void Refuse(DbCommand command)
    {
        var reads = command.CommandText.StartsWith("SELECT", StringComparison.Ordinal);
        if (_isUnreadable && reads)
        {
            // Whose walk goes by is asked first.
            if (command.CommandText.Contains("FROM \"Walks\"", StringComparison.Ordinal))
                Interlocked.Increment(ref _refusedLooksForDevices);
            throw new SqliteException("disk I/O error", InputOutput);
        }

        if ((_isFull || _isUnreadable) && !reads)
            throw new SqliteException("database or disk is full", Full);
        if (_unwritableSpot is { } spot && command.CommandText.Contains("INSERT INTO \"AlertEvents\"", StringComparison.Ordinal)
            && command.Parameters.Cast<DbParameter>().Any(parameter => spot.Equals(parameter.Value)))
            throw new SqliteException("a rule of the table is broken", Constraint);
    }
}
