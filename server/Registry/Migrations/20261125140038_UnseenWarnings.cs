using System;
using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace PavementWatch.Server.Registry.Migrations
{
    /// <inheritdoc />
    public partial class UnseenWarnings : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "Unseen",
                table: "AlertEvents",
                type: "TEXT",
                nullable: false,
                defaultValue: "None");

            migrationBuilder.AddColumn<int>(
                name: "Walkers",
                table: "AlertEvents",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.CreateTable(
                name: "BusinessNotices",
                columns: table => new
                {
                    Id = table.Column<Guid>(type: "TEXT", nullable: false),
                    EventId = table.Column<int>(type: "INTEGER", nullable: false),
                    Way = table.Column<string>(type: "TEXT", nullable: false),
                    Payload = table.Column<string>(type: "TEXT", nullable: false),
                    CreatedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    ExpiresAt = table.Column<long>(type: "INTEGER", nullable: false),
                    NextAttemptAt = table.Column<long>(type: "INTEGER", nullable: false),
                    Attempts = table.Column<int>(type: "INTEGER", nullable: false),
                    Standing = table.Column<string>(type: "TEXT", nullable: false),
                    SentAt = table.Column<long>(type: "INTEGER", nullable: true),
                    Trouble = table.Column<string>(type: "TEXT", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_BusinessNotices", x => x.Id);
                    table.ForeignKey(
                        name: "FK_BusinessNotices_AlertEvents_EventId",
                        column: x => x.EventId,
                        principalTable: "AlertEvents",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_AlertEvents_Unseen",
                table: "AlertEvents",
                column: "Unseen");

            migrationBuilder.CreateIndex(
                name: "IX_BusinessNotices_EventId_Way",
                table: "BusinessNotices",
                columns: new[] { "EventId", "Way" },
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_BusinessNotices_Standing_NextAttemptAt",
                table: "BusinessNotices",
                columns: new[] { "Standing", "NextAttemptAt" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "BusinessNotices");

            migrationBuilder.DropIndex(
                name: "IX_AlertEvents_Unseen",
                table: "AlertEvents");

            migrationBuilder.DropColumn(
                name: "Unseen",
                table: "AlertEvents");

            migrationBuilder.DropColumn(
                name: "Walkers",
                table: "AlertEvents");
        }
    }
}
