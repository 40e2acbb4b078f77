using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>The server's key pair towards push services (RFC 8292); made once, then kept.</summary>
internal sealed class VapidKeysRow
{
    public int Id { get; init; }

    public required string PublicKey { get; init; }

    public required string PrivateKey { get; init; }

    public required DateTimeOffset CreatedAt { get; init; }
}

internal sealed class VapidKeysRowConfiguration : IEntityTypeConfiguration<VapidKeysRow>
{
    public void Configure(EntityTypeBuilder<VapidKeysRow> builder)
    {
        builder.ToTable("VapidKeys");
        builder.Property(v => v.Id).ValueGeneratedNever();
    }
}
