using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Watch;

/// <summary>What the alert machine remembers of a spot, so that a restart changes nothing.</summary>
internal sealed class AlertMemoryRow
{
    public required string SpotId { get; init; }

    /// <summary>The whole <c>AlertMemory</c>.</summary>
    public required string Json { get; set; }

    /// <summary>Up to which reading (by its time of receipt) it counts.</summary>
    public required DateTimeOffset SavedAt { get; set; }
}

internal sealed class AlertMemoryRowConfiguration : IEntityTypeConfiguration<AlertMemoryRow>
{
    public void Configure(EntityTypeBuilder<AlertMemoryRow> builder)
    {
        builder.ToTable("AlertMemories");
        builder.HasKey(m => m.SpotId);
        builder.HasOne<SpotRow>().WithOne().HasForeignKey<AlertMemoryRow>(m => m.SpotId);
    }
}
