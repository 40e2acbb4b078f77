using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace PavementWatch.Server.Notifications;

/// <summary>A fault of the service that stood long enough to be told, kept so that a restart tells nobody twice.</summary>
internal sealed class FaultRow
{
    public int Id { get; init; }

    /// <summary>The fault's name; of each at most one row has not ended.</summary>
    public required string Key { get; init; }

    /// <summary>What was wrong, as it was told.</summary>
    public required string Words { get; init; }

    public required DateTimeOffset Since { get; init; }

    public DateTimeOffset? EndedAt { get; set; }
}

internal sealed class FaultRowConfiguration : IEntityTypeConfiguration<FaultRow>
{
    public void Configure(EntityTypeBuilder<FaultRow> builder)
    {
        builder.ToTable("Faults");
        builder.HasIndex(f => f.Key).IsUnique().HasFilter("\"EndedAt\" IS NULL");
    }
}
