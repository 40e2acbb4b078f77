using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace PavementWatch.Server.Fitting;

/// <summary>What a person decided about a waiting fit; only ever added, never changed.</summary>
internal sealed class FitDecisionRow
{
    public int Id { get; init; }

    public required string FitId { get; init; }

    public required string SpotId { get; init; }

    public required DateTimeOffset At { get; init; }

    public int? PersonId { get; init; }

    /// <summary>Their name at that time.</summary>
    public required string PersonName { get; init; }

    /// <summary>Whether it went into use; else it was refused.</summary>
    public required bool Accepted { get; init; }

    /// <summary>Why, in their words.</summary>
    public required string Reason { get; init; }

    /// <summary>The fit it replaced, when it went into use and there was one.</summary>
    public string? ReplacedFitId { get; init; }
}

internal sealed class FitDecisionRowConfiguration : IEntityTypeConfiguration<FitDecisionRow>
{
    public void Configure(EntityTypeBuilder<FitDecisionRow> builder)
    {
        builder.ToTable("FitDecisions");
        builder.HasIndex(d => new { d.SpotId, d.At });
        builder.HasOne<FitRow>().WithMany().HasForeignKey(d => d.FitId);
    }
}
