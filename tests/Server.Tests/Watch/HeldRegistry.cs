using System.Data.Common;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.Extensions.DependencyInjection;
using PavementWatch.Server.Database;
using PavementWatch.Server.Watch;

namespace PavementWatch.Server.Tests.Watch;

/// <summary>A registry that takes its time with one transaction, and notes in how many of them changes were written.</summary>
internal sealed class HeldRegistry : DbTransactionInterceptor
{
    private readonly TaskCompletionSource _arrived = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly TaskCompletionSource _released = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private readonly ChangesSeen _changes;
    private int _isHeld;
    private int _isCommitHeld;
    private int _areLooksHeld;

    public HeldRegistry() => _changes = new ChangesSeen(this);

    /// <summary>Ends when what is held has come.</summary>
    public Task Arrived => _arrived.Task;

    /// <summary>Transactions in which changes were written since <see cref="CountAnew"/>.</summary>
    public int Transactions => _changes.Transactions;

    public void CountAnew() => _changes.CountAnew();

    /// <summary>The next transaction of changes does not begin until <see cref="Release"/>; those after it do, and those of others.</summary>
    public void HoldNext() => Volatile.Write(ref _isHeld, 1);

    /// <summary>The next transaction of changes is not committed until <see cref="Release"/>; then it is.</summary>
    public void HoldNextCommit() => Volatile.Write(ref _isCommitHeld, 1);

    /// <summary>Whoever is to be told from memory is not found until <see cref="Release"/>.</summary>
    public void HoldLooksForDevices() => Volatile.Write(ref _areLooksHeld, 1);

    public void Release() => _released.SetResult();

    public void AddTo(IServiceCollection services) => services.ConfigureDbContext<RegistryDb>(options => options.AddInterceptors(this, _changes));

    public override async ValueTask<InterceptionResult<DbTransaction>> TransactionStartingAsync(
        DbConnection connection, TransactionStartingEventData eventData, InterceptionResult<DbTransaction> result, CancellationToken cancellationToken = default)
    {
        await HoldAsync(ref _isHeld, cancellationToken);
        return await base.TransactionStartingAsync(connection, eventData, result, cancellationToken);
    }

    public override async ValueTask<InterceptionResult> TransactionCommittingAsync(
        DbTransaction transaction, TransactionEventData eventData, InterceptionResult result, CancellationToken cancellationToken = default)
    {
        await HoldAsync(ref _isCommitHeld, cancellationToken);
        return await base.TransactionCommittingAsync(transaction, eventData, result, cancellationToken);
    }

    // Whose it is only its caller tells: an outbox or a fault may have something to write at the same time.
    private Task HoldAsync(ref int isHeld, CancellationToken cancellationToken)
    {
        if (!Environment.StackTrace.Contains("WriteTogetherAsync", StringComparison.Ordinal) || Interlocked.Exchange(ref isHeld, 0) == 0)
            return Task.CompletedTask;
        _arrived.SetResult();
        return _released.Task.WaitAsync(cancellationToken);
    }

    // Whose walk goes by is asked first.
    private Task HoldLookAsync(DbCommand command) =>
        Volatile.Read(ref _areLooksHeld) == 1 && command.CommandText.Contains("FROM \"Walks\"", StringComparison.Ordinal)
            && Environment.StackTrace.Contains(nameof(UnwrittenAlerts), StringComparison.Ordinal)
            ? _released.Task : Task.CompletedTask;

    private sealed class ChangesSeen(HeldRegistry held) : DbCommandInterceptor
    {
        private readonly Lock _lock = new();
        private readonly HashSet<DbTransaction> _transactions = [];

        public int Transactions
        {
            get
            {
                lock (_lock)
                    return _transactions.Count;
            }
        }

        public void CountAnew()
        {
            lock (_lock)
                _transactions.Clear();
        }

        public override async ValueTask<InterceptionResult<DbDataReader>> ReaderExecutingAsync(
            DbCommand command, CommandEventData eventData, InterceptionResult<DbDataReader> result, CancellationToken cancellationToken = default)
        {
            await held.HoldLookAsync(command);
            if (command.Transaction is { } transaction && command.CommandText.Contains("INSERT INTO \"AlertEvents\"", StringComparison.Ordinal))
            {
                lock (_lock)
                    _transactions.Add(transaction);
            }

            return await base.ReaderExecutingAsync(command, eventData, result, cancellationToken);
        }
    }
}
