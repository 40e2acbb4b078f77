using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Fitting;

/// <summary>Where a fit stands.</summary>
internal enum FitStanding
{
    /// <summary>Did worse than the one in use on the last days; the analyst decides.</summary>
    Waiting = 0,

    /// <summary>The one the watch uses; one a spot.</summary>
    InUse,

    /// <summary>Was in use until a newer one took over.</summary>
    Replaced,

    /// <summary>The analyst said no.</summary>
    Refused,

    /// <summary>Not to be used again, by nobody's choice: what it was made for is no more, or another edition of the program wrote it and this one cannot read it.</summary>
    Retired,
}

/// <summary>A fit, never changed after it is written but for where it stands and why.</summary>
internal sealed class FitRow
{
    /// <summary>The reason for which fits of a spot whose ground or place was changed are retired, at the moment of the change.</summary>
    public const string OtherGround = "made before the spot's ground or place was changed";

    public required string Id { get; init; }

    public required string SpotId { get; init; }

    public required DateTimeOffset FittedAt { get; init; }

    /// <summary>The whole <c>OffsetFit</c>.</summary>
    public required string Json { get; init; }

    public required FitStanding Standing { get; set; }

    /// <summary>Why it stands there, in a plain sentence.</summary>
    public required string Reason { get; set; }

    public required DateTimeOffset DecidedAt { get; set; }
}

internal sealed class FitRowConfiguration : IEntityTypeConfiguration<FitRow>
{
    public void Configure(EntityTypeBuilder<FitRow> builder)
    {
        builder.ToTable("Fits");
        builder.HasIndex(f => new { f.SpotId, f.FittedAt });
        // At most one fit in use a spot, whoever writes.
        builder.HasIndex(f => f.SpotId).IsUnique().HasFilter("\"Standing\" = 'InUse'");
        builder.HasOne<SpotRow>().WithMany().HasForeignKey(f => f.SpotId);
    }
}
